// Package relay answers: how does a notebook stay alive, whatever a cell does?
//
// It stands between Jupyter and gonb, the kernel that compiles and runs the
// cells, and speaks the Jupyter messaging protocol (version 5.4,
// https://jupyter-client.readthedocs.io/en/stable/messaging.html) on both
// sides. gonb does the work. The relay adds what a scholar needs around it: a
// cell that fails says so as an error that stops the cells after it; a failure
// reads as a sentence and a place, not as a stack; an interrupt stops the cell
// and keeps the notebook; output without end is cut off; and where Go or gonb
// cannot run at all, each cell is answered with what is missing and how to get
// it. No cell needs the network.
package relay
