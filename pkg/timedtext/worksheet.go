package timedtext

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// A worksheet is a plain-text transcript still to be typed: Read takes it back.
const (
	worksheetTitle = "Worksheet for reel"
	worksheetRate  = "Frames per second:"
	// worksheetNames lists the speakers, so that a name that does not look
	// like one is known when the sheet is read.
	worksheetNames = "Speakers:"
	nameSeparator  = " | "
)

const worksheetHelp = `# Type what is said after each name, on the same line or on lines below it.
# A stretch left blank is passed over. Times and names may be corrected.
# The times are %s.
`

// WorksheetOf is the reel that a document is a worksheet for, "" if it is none.
func (d *Document) WorksheetOf() string {
	for _, c := range d.Comments {
		if reel, ok := strings.CutPrefix(strings.TrimSpace(c), worksheetTitle+" "); ok {
			return strings.TrimSpace(reel)
		}
	}
	return ""
}

// WorksheetEntry is one stretch of speech; times count from the start of the
// recording. Speaker may be "", Text is what is known to be said already.
type WorksheetEntry struct {
	Speaker, Text string
	timecode.Span
}

// WriteWorksheet writes one timed, speaker-labelled blank for each stretch of
// speech, with the ends, or what is said there if that is known, after a header
// of comments. Times are the recording's
// timecode where its frame rate is known, else clock times from its start.
func WriteWorksheet(w io.Writer, reel string, entries []WorksheetEntry, clock timecode.Clock) error {
	b := bufio.NewWriter(w)
	kind := "hours:minutes:seconds from the start of the recording"
	if clock.Base.Rate.Known() {
		kind = fmt.Sprintf("timecode at %s frames per second", clock.Base)
	}
	fmt.Fprintf(b, "# %s %s\n", worksheetTitle, oneLine(reel))
	fmt.Fprintf(b, worksheetHelp, kind)
	if clock.Base.Rate.Known() {
		fmt.Fprintf(b, "# %s %s\n", worksheetRate, clock.Base)
	}
	var names []string
	for _, e := range entries {
		if name := worksheetName(e.Speaker); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) > 0 {
		fmt.Fprintf(b, "# %s %s\n", worksheetNames, strings.Join(names, nameSeparator))
	}
	for i, e := range entries {
		in, out := exact(max(e.In, 0)), exact(max(e.Out, 0))
		if clock.Base.Rate.Known() {
			in, out = clock.Timecode(e.In, timecode.Floor), clock.Timecode(e.Out, timecode.Ceil)
			if i+1 < len(entries) && entries[i+1].In >= e.Out && entries[i+1].In-e.In >= 2*clock.Base.Rate.Ticks(1) {
				out = clock.Timecode(min(e.Out, clock.Base.Rate.Snap(clock.Start+entries[i+1].In, timecode.Floor)-clock.Start), timecode.Ceil)
			}
		}
		label := ""
		if name := worksheetName(e.Speaker); name != "" {
			label = name + ": "
		}
		fmt.Fprintf(b, "\n[%s - %s] %s%s\n", in, out, label, oneLine(e.Text))
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("writing the worksheet: %w", err)
	}
	return nil
}

func worksheetName(s string) string {
	return oneLine(strings.NewReplacer(":", "", "|", "").Replace(s))
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
