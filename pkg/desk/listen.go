package desk

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Listened is what was heard in one recording, with its clock for labels.
type Listened struct {
	Recording story.Recording
	Heard     story.Heard
	// Notes are what was wrong in a file and was got over; not known of a reel.
	Notes []string
}

type spanJSON struct {
	In  timecode.Moment `json:"in"`
	Out timecode.Moment `json:"out"`
}

type turnJSON struct {
	Speaker string           `json:"speaker"`
	In      timecode.Moment  `json:"in"`
	Out     timecode.Moment  `json:"out"`
	By      story.TurnSource `json:"by"`
}

type clipJSON struct {
	spanJSON
	Channel int `json:"channel"`
	Samples int `json:"samples"`
}

// MarshalJSON is what WriteJSON writes.
func (l Listened) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	err := l.WriteJSON(&b)
	return b.Bytes(), err
}

// WriteJSON writes {"reel", "duration", "noise_floor_dbfs", "loudness_lufs",
// "speech", "pauses", "silences", "turns", "talk", …}, list items one by one, so that ten
// hours need no more memory than one. A level that is minus infinity (digital
// silence) is null.
func (l Listened) WriteJSON(out io.Writer) error {
	w := &jsonWriter{w: bufio.NewWriter(out)}
	c := l.Recording.Clock
	w.field("reel", l.Recording.Reel)
	w.field("duration", timecode.Clock{Base: c.Base}.Out(l.Heard.Duration))
	w.field("start_timecode", c.In(0).Timecode)
	w.field("rate", c.Base.String())
	w.field("noise_floor_dbfs", finite(l.Heard.FloorDBFS))
	w.field("loudness_lufs", finite(l.Heard.LoudnessLUFS))
	w.field("peak_dbfs", finite(l.Heard.PeakDBFS))
	span := func(s timecode.Span) spanJSON { return spanJSON{c.In(s.In), c.Out(s.Out)} }
	l.writeSpeech(w, span)
	w.list("turns", len(l.Heard.Turns), func(i int) any {
		t := l.Heard.Turns[i]
		return turnJSON{t.Speaker, c.In(t.In), c.Out(t.Out), t.Source}
	})
	w.field("talk", story.TalkShares(l.Heard.Turns))
	w.list("clipped", len(l.Heard.Clipped), func(i int) any {
		k := l.Heard.Clipped[i]
		return clipJSON{span(k.Span), k.Channel + 1, k.Samples}
	})
	if len(l.Notes) > 0 {
		w.field("notes", l.Notes)
	}
	return w.end()
}

// finite gives a level rounded to a hundredth, nil for minus infinity.
func finite(v float64) *float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return nil
	}
	v = math.Round(v*100) / 100
	return &v
}

// Listen gives what was heard in a reel of the bank.
func (d *Desk) Listen(ctx context.Context, reel string) (Listened, error) {
	rec, err := d.recording(ctx, reel)
	if err != nil {
		return Listened{}, err
	}
	h, err := d.bank.Heard(ctx, rec.Reel)
	if errors.Is(err, bank.ErrNotFound) {
		return Listened{}, &Problem{What: fmt.Sprintf("%s has words but no sound to listen to", rec.Reel), Hint: "ingest its recording", Kind: err}
	}
	if err != nil {
		return Listened{}, err
	}
	return Listened{Recording: rec, Heard: *h}, nil
}

// IsSoundFile tells whether a name means a file of sound, which may not be
// there, rather than a reel.
func IsSoundFile(name string) bool { return kindOf(name) == kindSound }

// ListenFile listens to a file that needn't be in a bank; quick is by level
// alone, for a first look on location.
func ListenFile(ctx context.Context, path string, quick bool, opt Options) (Listened, error) {
	if !exists(path) {
		return Listened{}, refuse("name a file, or a reel of the bank", "%s: no such file", path)
	}
	rd, err := sound.OpenMedia(ctx, path)
	if err != nil {
		return Listened{}, err
	}
	defer rd.Close()
	info := rd.Info()
	p := (&Desk{opt: opt}).progress()
	p.Begin("hearing "+filepath.Base(path), int64(info.Duration()))
	defer p.End()
	defer frugal()()
	rd.SkipEssence()
	hear := listen.Hear
	if quick {
		hear = listen.Glance
	}
	h, err := hear(ctx, rd, listen.Options{
		TrackNames: trackNames(info),
		Progress:   func(done timecode.Ticks) { p.Reached(int64(done)) },
	})
	if err != nil {
		return Listened{}, err
	}
	in := &ingest{Desk: &Desk{opt: opt}, base: timecode.Base{Rate: timecode.Rate25}}
	rec := story.Recording{Reel: story.ReelName(stemOf(path))}
	in.describeSound(&rec, absolute(path), info)
	return Listened{Recording: rec, Heard: h, Notes: rd.Info().Notes}, nil
}

// Sheet tells what a worksheet holds.
type Sheet struct {
	File   string `json:"file"`
	Blanks int    `json:"blanks"`
	Quotes int    `json:"quotes"`
}

// Worksheet writes a text file with one timed, labelled blank per stretch of
// speech of a reel, and the quotes that the reel has already: to REEL.txt
// unless out says otherwise.
func (d *Desk) Worksheet(ctx context.Context, reel string, out Output) (Sheet, error) {
	l, err := d.Listen(ctx, reel)
	if err != nil {
		return Sheet{}, err
	}
	if out.Path == "" {
		out.Path = l.Recording.Reel + ".txt"
	}
	if out, err = d.guard(ctx, out); err == nil {
		err = out.check()
	}
	if err != nil {
		return Sheet{}, err
	}
	s := Sheet{File: out.Path}
	var entries []timedtext.WorksheetEntry
	for q, err := range d.bank.Quotes(ctx, bank.Filter{Reel: l.Recording.Reel}) {
		if err != nil {
			return Sheet{}, err
		}
		entries = append(entries, timedtext.WorksheetEntry{Speaker: q.Speaker, Text: q.Text, Span: q.Span})
	}
	s.Quotes = len(entries)
	for _, e := range stretchesOf(l.Heard) {
		if !slices.ContainsFunc(entries[:s.Quotes], func(q timedtext.WorksheetEntry) bool { return q.Overlaps(e.Span) }) {
			entries = append(entries, e)
		}
	}
	s.Blanks = len(entries) - s.Quotes
	slices.SortStableFunc(entries, func(a, b timedtext.WorksheetEntry) int { return cmp.Compare(a.In, b.In) })
	if len(entries) == 0 {
		return Sheet{}, refuse("", "nobody speaks in %s", l.Recording.Reel)
	}
	return s, out.write(func(w io.Writer) error {
		return timedtext.WriteWorksheet(w, l.Recording.Reel, entries, l.Recording.Clock)
	})
}

// stretchesOf are the turns that were heard, or the speech if no turns were.
func stretchesOf(h story.Heard) []timedtext.WorksheetEntry {
	var out []timedtext.WorksheetEntry
	for _, t := range h.Turns {
		out = append(out, timedtext.WorksheetEntry{Speaker: t.Speaker, Span: t.Span})
	}
	if len(out) > 0 {
		return out
	}
	for _, s := range h.Speech {
		out = append(out, timedtext.WorksheetEntry{Span: s})
	}
	return out
}
