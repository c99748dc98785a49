package timedtext

import (
	"encoding/json"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// textFrom is the text of a segment, put together from its words if it has
// none of its own.
func (j *jsonReader) textFrom(o object) string {
	if s := textOf(o, jsonText); s != "" {
		return s
	}
	var b strings.Builder
	for _, w := range wordsOf(o) {
		appendWord(&b, textOf(w, jsonWord))
	}
	return b.String()
}

// appendWord puts a word after others: with a space, except before
// punctuation and where the words bring their own spaces.
func appendWord(b *strings.Builder, w string) {
	r, _ := utf8.DecodeRuneInString(w)
	if b.Len() > 0 && !unicode.IsSpace(r) && !strings.ContainsRune(",.;:!?…)]}%’”»", r) && !strings.HasSuffix(b.String(), " ") {
		b.WriteByte(' ')
	}
	b.WriteString(w)
}

// speaker is a segment's speaker as written; a bare number becomes "Speaker n".
func (j *jsonReader) speaker(o object) string {
	for _, k := range jsonSpeaker {
		switch v := o[k].(type) {
		case string:
			if name := j.names[v]; name != "" {
				return name
			}
			if v = strings.TrimSpace(v); v != "" {
				if digits(v) {
					return "Speaker " + v
				}
				return v
			}
		case json.Number:
			if name := j.names[v.String()]; name != "" {
				return name
			}
			return "Speaker " + v.String()
		case map[string]any:
			if s, ok := v["name"].(string); ok && s != "" {
				return s
			}
		}
	}
	if len(j.said) > 0 {
		return j.said[fmt.Sprint(first(o, jsonStart...))]
	}
	return ""
}

// segment takes one segment into the document.
func (j *jsonReader) segment(o object) error {
	words := wordsOf(o)
	in, ok := j.when(o, jsonStart)
	if !ok && len(words) > 0 {
		in, ok = j.when(words[0], jsonStart)
	}
	text := strings.TrimSpace(j.textFrom(o))
	if text == "" && o["lines"] == nil {
		return nil
	}
	if !ok {
		return j.untimed(o, text)
	}
	c := Cue{Span: timecode.Span{In: in, Out: NoTime}}
	out, hasOut := j.when(o, jsonEnd)
	if !hasOut {
		if d, ok := j.when(o, jsonLength); ok {
			out, hasOut = in+d, true
		}
	}
	for i := len(words) - 1; i >= 0 && !hasOut; i-- {
		out, hasOut = j.when(words[i], jsonEnd)
	}
	c.Out, c.OpenEnd = out, !hasOut
	if id, ok := o["id"].(string); ok {
		c.ID = id
	} else if id, ok := o["id"].(json.Number); ok {
		c.ID = id.String()
	}
	if m, ok := o["settings"].(map[string]any); ok {
		for k, v := range m {
			if s, ok := v.(string); ok {
				c.set(k, s)
			}
		}
	}
	if lines, ok := o["lines"].([]any); ok {
		c.Lines = j.ownLines(lines)
	} else {
		c.Lines = j.lines(o, text, words)
	}
	if len(c.Lines) > 0 {
		j.doc.Cues = append(j.doc.Cues, c)
	}
	return nil
}

// untimed places a segment whose time is missing or wrong after the one before
// it, and says so.
func (j *jsonReader) untimed(o object, text string) error {
	what := "no time"
	if bad := first(o, jsonStart...); bad != nil {
		what = "a time that is not understood: got " + quoteShort(fmt.Sprint(bad))
	}
	if len(j.doc.Cues) == 0 {
		j.repair(0, "segment %d has %s: its text is kept as a comment", j.n, what)
		j.doc.Comments = append(j.doc.Comments, text)
		return nil
	}
	j.repair(0, "segment %d has %s: placed after the one before it", j.n, what)
	c := Cue{Span: timecode.Span{In: j.behind(), Out: NoTime}, OpenEnd: true, Lines: j.lines(o, text, nil)}
	j.slip(len(j.doc.Cues), nil)
	j.doc.Cues = append(j.doc.Cues, c)
	return nil
}

// lines makes lines of the text of a segment and gives each its words.
func (j *jsonReader) lines(o object, text string, words []object) []Line {
	speaker := j.speaker(o)
	var timed []Word
	for _, w := range words {
		word := j.word(w)
		if word.In == NoTime {
			// Punctuation of its own: part of the word before.
			if n := len(timed); n > 0 && strings.Contains(text, timed[n-1].Text+word.Text) {
				timed[n-1].Text += word.Text
			}
			continue
		}
		timed = append(timed, word)
		if speaker == "" {
			speaker = j.speaker(w)
		}
	}
	var out []Line
	for part := range strings.SplitSeq(text, "\n") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		run := Run{Text: part, Speaker: speaker}
		at := 0
		for len(timed) > 0 {
			i := strings.Index(part[at:], timed[0].Text)
			if i < 0 {
				// A word spelled otherwise than in the text still has its
				// time; one that belongs to the next line waits for it.
				if len(out) == 0 && !strings.Contains(text, timed[0].Text) {
					run.Words = append(run.Words, timed[0])
					timed = timed[1:]
					continue
				}
				break
			}
			at += i + len(timed[0].Text)
			run.Words = append(run.Words, timed[0])
			timed = timed[1:]
		}
		out = append(out, Line{run})
	}
	if n := len(out); n > 0 && len(timed) > 0 {
		out[n-1][0].Words = append(out[n-1][0].Words, timed...)
	}
	return out
}

func (j *jsonReader) word(w object) Word {
	out := Word{Text: strings.TrimSpace(textOf(w, jsonWord)), Span: timecode.Span{In: NoTime, Out: NoTime}}
	if t, ok := j.when(w, jsonStart); ok {
		out.In = t
	}
	if t, ok := j.when(w, jsonEnd); ok {
		out.Out = t
	} else if d, ok := j.when(w, jsonLength); ok && out.In != NoTime {
		out.Out = out.In + d
	}
	return out
}

// ownLines reads the lines that our own writer gives: all that a Run holds.
func (j *jsonReader) ownLines(lines []any) []Line {
	var out []Line
	for _, l := range lines {
		list, _ := l.([]any)
		var line Line
		for _, r := range list {
			m, ok := r.(map[string]any)
			if !ok {
				continue
			}
			var run Run
			run.Text, _ = m["text"].(string)
			run.Speaker, _ = m["speaker"].(string)
			run.Dash, _ = m["dash"].(bool)
			run.Style.Italic, _ = m["italic"].(bool)
			run.Style.Bold, _ = m["bold"].(bool)
			run.Style.Underline, _ = m["underline"].(bool)
			run.Style.Colour, _ = m["colour"].(string)
			words, _ := m["words"].([]any)
			for _, w := range words {
				if o, ok := toObject(w); ok {
					run.Words = append(run.Words, j.word(o))
				}
			}
			line = append(line, run)
		}
		if len(line) > 0 {
			out = append(out, line)
		}
	}
	return out
}
