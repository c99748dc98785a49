package timedtext

import (
	"encoding/csv"
	"fmt"
	"strings"
)

func (w *writer) writeCSV() error {
	d := w.doc
	w.loseHead(false, false, false)
	w.loseTime(false, false, false)
	table := csv.NewWriter(w)
	// Errors stay in the csv.Writer until Flush.
	_ = table.Write([]string{"in", "out", "speaker", "text"})
	for i := range d.Cues {
		c := &d.Cues[i]
		w.loseCue(c, false)
		if c.ID != "" {
			w.lose(lostID)
		}
		in, out := c.In, ""
		if in < 0 {
			w.lose(lostNegative)
			in = 0
		}
		if !c.OpenEnd && c.Out != NoTime {
			if c.Out <= c.In {
				w.lose(lostBackward)
			}
			out = exact(max(c.Out, 0))
		}
		w.csvRows(table, c, exact(in), out)
	}
	table.Flush()
	if err := table.Error(); err != nil {
		return fmt.Errorf("writing CSV: %w", err)
	}
	return nil
}

// csvRows writes one row for each speaker of a cue.
func (w *writer) csvRows(table *csv.Writer, c *Cue, in, out string) {
	var text []string
	speaker, rows := "", 0
	flush := func() {
		if len(text) > 0 {
			if rows++; rows == 2 {
				w.lose("cues with several speakers: one row each")
			}
			_ = table.Write([]string{in, out, speaker, strings.Join(text, "\n")})
			text = nil
		}
	}
	lines := w.onOwnLines(c.Lines)
	composed := w.compose(&Cue{Lines: lines}, true)
	for i, l := range composed {
		if who := lines[i][0].Speaker; who != speaker {
			flush()
			speaker = who
		}
		for _, r := range l {
			if r.Style != (Style{}) {
				w.lose(lostStyle)
			}
		}
		text = append(text, l.Plain())
	}
	flush()
}
