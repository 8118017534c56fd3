// Package wire answers: how does a cell talk to the relay that it runs under?
//
// A cell is a program of its own. What it shows goes to Jupyter as the bundles
// of media types that the messaging protocol knows; an error goes with them,
// under a type of ours that the relay takes out and tells as an error.
package wire

// FaultType is the media type under which a cell tells its error: the content
// is the error's sentences as plain text.
const FaultType = "application/vnd.thumbed.fault"

// VersionVariable is the environment variable that tells a cell which version
// of thumbed installed the kernel it runs in.
const VersionVariable = "THUMBED_KERNEL"
