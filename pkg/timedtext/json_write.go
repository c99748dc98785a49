package timedtext

import (
	"encoding/json"
	"fmt"

	"rushlight/pkg/timecode"
)

// The JSON we write carries all of a document: segments with start, end,
// speaker and text as programs commonly read them, and beside them the lines
// with speakers, styles and word times.

type jsonDoc struct {
	Language       string            `json:"language,omitempty"`
	Title          string            `json:"title,omitempty"`
	Rate           string            `json:"rate,omitempty"`
	Labels         bool              `json:"labels,omitempty"`
	ProgrammeStart json.Number       `json:"programme_start,omitempty"`
	Comments       []string          `json:"comments,omitempty"`
	Segments       []json.RawMessage `json:"segments"`
}

type jsonSegment struct {
	ID       string            `json:"id,omitempty"`
	Start    json.Number       `json:"start"`
	End      json.Number       `json:"end,omitempty"`
	Speaker  string            `json:"speaker,omitempty"`
	Text     string            `json:"text"`
	Settings map[string]string `json:"settings,omitempty"`
	Lines    [][]jsonRun       `json:"lines"`
}

type jsonRun struct {
	Text      string        `json:"text"`
	Speaker   string        `json:"speaker,omitempty"`
	Dash      bool          `json:"dash,omitempty"`
	Italic    bool          `json:"italic,omitempty"`
	Bold      bool          `json:"bold,omitempty"`
	Underline bool          `json:"underline,omitempty"`
	Colour    string        `json:"colour,omitempty"`
	Words     []jsonWordOut `json:"words,omitempty"`
}

type jsonWordOut struct {
	Word  string      `json:"word"`
	Start json.Number `json:"start"`
	End   json.Number `json:"end,omitempty"`
}

// seconds writes a time in seconds exactly: nine digits tell every tick.
func seconds(t timecode.Ticks) json.Number {
	sign := ""
	if t < 0 {
		sign, t = "-", -t
	}
	s := t / timecode.Second
	frac := fmt.Sprintf("%09d", (int64(t%timecode.Second)*1_000_000_000+int64(timecode.Second)/2)/int64(timecode.Second))
	for len(frac) > 1 && frac[len(frac)-1] == '0' {
		frac = frac[:len(frac)-1]
	}
	return json.Number(fmt.Sprintf("%s%d.%s", sign, s, frac))
}

func (w *writer) writeJSON() error {
	d := w.doc
	if len(d.Metadata) > 0 {
		w.lose(lostMeta)
	}
	if len(d.Regions) > 0 {
		w.lose(lostRegions)
	}
	head := jsonDoc{Language: d.Language, Title: d.Title, Labels: d.Labels, Comments: d.Comments, Segments: []json.RawMessage{}}
	if d.Base.Rate.Known() {
		head.Rate = d.Base.String()
	}
	if d.ProgrammeStart != 0 {
		head.ProgrammeStart = seconds(d.ProgrammeStart)
	}
	// The segments stream out one a line between head and tail.
	top, err := json.Marshal(head)
	if err != nil {
		return fmt.Errorf("writing JSON: %w", err)
	}
	w.Write(top[:len(top)-len("]}")])
	for i := range d.Cues {
		b, err := json.Marshal(w.jsonCue(&d.Cues[i]))
		if err != nil {
			return fmt.Errorf("writing JSON: %w", err)
		}
		if i > 0 {
			w.WriteByte(',')
		}
		w.WriteByte('\n')
		w.Write(b)
	}
	w.WriteString("\n]}\n")
	return nil
}

func (w *writer) jsonCue(c *Cue) jsonSegment {
	s := jsonSegment{ID: c.ID, Start: seconds(c.In), Speaker: c.Speaker(), Text: c.Plain(), Settings: c.Settings}
	if !c.OpenEnd && c.Out != NoTime {
		s.End = seconds(c.Out)
		if c.Out <= c.In {
			w.lose(lostBackward)
		}
	}
	// A cue without any speaker must not look as if it had a label.
	w.compose(c, true)
	for _, l := range c.Lines {
		line := make([]jsonRun, 0, len(l))
		for _, r := range l {
			run := jsonRun{
				Text: r.Text, Speaker: r.Speaker, Dash: r.Dash,
				Italic: r.Style.Italic, Bold: r.Style.Bold, Underline: r.Style.Underline, Colour: r.Style.Colour,
			}
			for _, word := range r.Words {
				jw := jsonWordOut{Word: word.Text, Start: seconds(word.In)}
				if word.Out != NoTime {
					jw.End = seconds(word.Out)
				}
				run.Words = append(run.Words, jw)
			}
			line = append(line, run)
		}
		s.Lines = append(s.Lines, line)
	}
	return s
}
