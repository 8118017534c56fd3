"""Runs one notebook through nbclient and tells its caller how that went.

Called with the notebook as JSON on standard input and, as arguments, the
kernel's name, the folder to run in and the seconds that one cell may take.
Writes one JSON object a line to standard output: {"begun": i} for each cell,
and last {"done": notebook}, {"failed": {...}} or {"missing": words}.
"""

import asyncio
import json
import sys


def tell(**what):
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


try:
    import nbformat
    from jupyter_client.kernelspec import NoSuchKernel
    from nbclient import NotebookClient
    from nbclient.exceptions import (
        CellExecutionError,
        CellTimeoutError,
        DeadKernelError,
    )
except ImportError as problem:
    tell(missing=str(problem))
    sys.exit(0)

kernel, folder, seconds = sys.argv[1], sys.argv[2], int(sys.argv[3])
notebook = nbformat.reads(sys.stdin.read(), as_version=4)
running = -1


class Client(NotebookClient):
    async def async_execute_cell(self, cell, cell_index, **more):
        global running
        running = cell_index
        if cell.cell_type == "code":
            tell(begun=cell_index)
        return await super().async_execute_cell(cell, cell_index, **more)


def emptied(output):
    """Tells an output of which nothing is left, such as a bar that has ended."""
    return output.output_type == "display_data" and not any(output.data.values())


client = Client(
    notebook,
    kernel_name=kernel,
    timeout=seconds,
    interrupt_on_timeout=False,
    record_timing=False,
    resources={"metadata": {"path": folder}},
)
try:
    asyncio.run(client.async_execute())
except CellExecutionError as problem:
    tell(failed={"cell": running, "kind": "error", "name": problem.ename, "words": problem.evalue})
except CellTimeoutError:
    tell(failed={"cell": running, "kind": "slow"})
except DeadKernelError:
    tell(failed={"cell": running, "kind": "dead"})
except NoSuchKernel as problem:
    tell(failed={"cell": -1, "kind": "no kernel", "words": problem.name})
else:
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs = [output for output in cell.outputs if not emptied(output)]
    tell(done=nbformat.writes(notebook))
