package interchange

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// csvHeader names the columns; further ones may be added at the end, none
// renamed or moved.
var csvHeader = []string{
	"position", "code", "reel", "speaker",
	"source_in", "source_out", "record_in", "record_out",
	"source_in_seconds", "source_out_seconds", "length_seconds", "running_seconds",
	"lead_frames", "tail_frames", "text", "note", "themes", "path",
}

// WriteCSV writes one row per event after RFC 4180 (CR LF, a header row,
// fields quoted where needed, UTF-8 without mark). Source timecodes are the
// recording's own labels; seconds count from the start of the recording,
// running_seconds is the end of the row on the timeline. Themes are joined
// with "; ". A gap has the reel BL and no source.
//
// Spreadsheets run a cell that starts with =, +, -, @, tab or CR as a formula
// (OWASP, "CSV Injection"; recalled): a text, note, name or path that does
// gets an apostrophe in front, which they take as the mark of plain text.
//
// Errors wrap ErrCut (no frame rate) or come from w.
func WriteCSV(w io.Writer, c story.Cut) error {
	if err := checkCut(c); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(csvHeader); err != nil {
		return fmt.Errorf("write CSV: %w", err)
	}
	for i, e := range c.Events {
		if err := out.Write(csvRow(c, i, e)); err != nil {
			return fmt.Errorf("write CSV: %w", err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write CSV: %w", err)
	}
	return nil
}

func csvRow(c story.Cut, i int, e story.Event) []string {
	clock := e.Clock
	if !clock.Base.Rate.Known() {
		clock.Base = c.Base
	}
	frames := func(t timecode.Ticks) string {
		return strconv.FormatInt(frameAt(c.Base.Rate, t, timecode.Nearest), 10)
	}
	reel := e.Reel
	source := []string{
		clock.Timecode(e.Source.In, timecode.Floor), clock.Timecode(e.Source.Out, timecode.Ceil),
		seconds(e.Source.In), seconds(e.Source.Out),
	}
	if e.Gap {
		reel, source = blackReel, make([]string, 4)
	}
	return []string{
		strconv.Itoa(i + 1), string(e.Code), plainCell(reel), plainCell(e.Speaker),
		source[0], source[1], c.Label(e.Record.In, timecode.Nearest), c.Label(e.Record.Out, timecode.Nearest),
		source[2], source[3], seconds(e.Record.Length()), seconds(e.Record.Out),
		frames(e.Lead), frames(e.Tail),
		plainCell(e.Text), plainCell(e.Note), plainCell(strings.Join(e.Themes, "; ")), plainCell(e.Path),
	}
}

// seconds writes a time with as many decimals as it needs, at most 6.
func seconds(t timecode.Ticks) string {
	s := strconv.FormatFloat(t.Seconds(), 'f', 6, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// plainCell keeps spreadsheets from running a text.
func plainCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
