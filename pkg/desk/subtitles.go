package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/subtitles"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// SubtitleOptions say what is drafted or checked and by which limits.
type SubtitleOptions struct {
	// Of is a reel or a list of selects.
	Of  string
	Out Output
	// Format overrides what the name of the file says.
	Format string
	// Rate is the frame rate, Language the BCP 47 tag that picks the limits.
	Rate, Language string
	// Start is the timecode of the programme's first frame.
	Start string
	// LineLength, Speed (characters per second) and Gap (frames) replace the
	// usual figures where above 0.
	LineLength int
	Speed      float64
	Gap        int64
}

// Subtitled says what was drafted or checked.
type Subtitled struct {
	File     string    `json:"file"`
	Cues     int       `json:"cues"`
	Seconds  float64   `json:"seconds"`
	Findings []Finding `json:"findings"`
	// Lost says what the format can't carry.
	Lost []string `json:"lost,omitempty"`
	// Notes say what a check had to take, or left out.
	Notes []string `json:"notes,omitempty"`
	// Limits are the figures that were kept to.
	Limits map[string]any `json:"limits"`
}

// Finding is one place that breaks a limit; At counts from the first frame of
// the file's own time.
type Finding struct {
	Cue int `json:"cue"`
	// Name is the number that the file gives it, else the same.
	Name     string          `json:"name"`
	At       timecode.Moment `json:"at"`
	Rule     string          `json:"rule"`
	What     string          `json:"what"`
	Severity string          `json:"severity"`
}

// String prints "cue 12 at 00:01:02.120: reading speed: 21.3 …".
func (f Finding) String() string {
	return fmt.Sprintf("cue %s at %s: %s: %s", f.Name, f.At.Ticks, f.Rule, f.What)
}

func (o SubtitleOptions) limits(language string, base timecode.Base) (subtitles.Limits, error) {
	if o.Language != "" {
		language = o.Language
	}
	lim := subtitles.DefaultLimits(language)
	if base.Rate.Known() {
		lim.Base = base
	}
	if o.Rate != "" {
		b, err := parseRate(o.Rate)
		if err != nil {
			return lim, err
		}
		lim.Base = b
	}
	if o.LineLength < 0 || o.Speed < 0 || o.Gap < 0 {
		return lim, usage("", "limits can't be negative")
	}
	if o.LineLength > 0 {
		lim.LineLength = o.LineLength
	}
	if o.Speed > 0 {
		lim.ReadingSpeed = o.Speed
	}
	if o.Gap > 0 {
		lim.Gap = o.Gap
	}
	return lim, nil
}

// DraftSubtitles drafts subtitles of a reel or of selects and writes them.
func (d *Desk) DraftSubtitles(ctx context.Context, opt SubtitleOptions) (Subtitled, error) {
	format, err := opt.format()
	if err != nil {
		return Subtitled{}, err
	}
	if opt.Out, err = d.guard(ctx, opt.Out); err != nil {
		return Subtitled{}, err
	}
	if err := opt.Out.check(); err != nil {
		return Subtitled{}, err
	}
	pieces, title, base, end, err := d.pieces(ctx, opt)
	if err != nil {
		return Subtitled{}, err
	}
	if len(pieces) == 0 {
		return Subtitled{}, refuse("ingest a transcript first", "%s has no words", title)
	}
	lim, err := opt.limits(pieces[0].Quote.Language, base)
	if err != nil {
		return Subtitled{}, err
	}
	lim.End = end
	var start timecode.Ticks
	if opt.Start != "" {
		if start, err = startTime(opt.Start, labelBase(format, lim.Base), format == timedtext.STL); err != nil {
			return Subtitled{}, err
		}
	}
	doc, findings, err := subtitles.Draft(pieces, lim)
	if err != nil {
		return Subtitled{}, err
	}
	if start > 0 { // cues are labelled from the programme's first frame
		if doc, _, err = timedtext.Retime(doc, timedtext.Retiming{Start: &start}); err != nil {
			return Subtitled{}, err
		}
	}
	var made time.Time
	if last, err := d.bank.History(ctx, 1); err == nil && len(last) > 0 {
		made = last[0].When
	}
	out := subtitled(opt.Out.Path, doc, findings, lim)
	err = opt.Out.write(func(w io.Writer) error {
		lost, err := timedtext.Write(w, doc, format, timedtext.WriteOptions{
			Base: lim.Base, ProgrammeStart: start, Language: doc.Language, Title: title, Made: made,
		})
		out.Lost = lost
		return err
	})
	return out, err
}

func (o SubtitleOptions) format() (timedtext.Format, error) {
	if o.Format != "" {
		f := timedtext.Format(o.Format)
		if !f.Written() || !knownFormat(f) && f != timedtext.EBUTTD {
			return "", usage(formats(true), "can't write the format %q", o.Format)
		}
		return f, nil
	}
	switch o.Out.Path {
	case "":
		return "", usage("for example -o film.srt, or -o - for the terminal", "no file to write to")
	case "-":
		return timedtext.SRT, nil
	}
	f, err := timedtext.FormatForPath(o.Out.Path)
	if err != nil {
		return f, &Problem{What: err.Error(), Hint: "end the name with .srt, .vtt, .ttml, .stl, .ass or .docx, or say --format", Kind: ErrUsage}
	}
	return f, nil
}

// pieces lays the quotes of a reel, or of selects, on the timeline, and tells
// where that ends.
func (d *Desk) pieces(ctx context.Context, opt SubtitleOptions) ([]subtitles.Piece, string, timecode.Base, timecode.Ticks, error) {
	rec, err := d.bank.Recording(ctx, opt.Of)
	if s, err2 := d.bank.Selects(ctx, opt.Of); err == nil && err2 == nil {
		return nil, "", timecode.Base{}, 0, refuse("copy the selects under a name of their own: rushlight selects copy '"+s.Name+"' NEW",
			"%q is a reel and also selects", opt.Of)
	}
	if err == nil {
		p, err := d.reelPieces(ctx, rec)
		return p, rec.Reel, rec.Clock.Base, rec.Duration, err
	}
	if !errors.Is(err, bank.ErrNotFound) {
		return nil, "", timecode.Base{}, 0, err
	}
	s, err := d.bank.Selects(ctx, opt.Of)
	if errors.Is(err, bank.ErrNotFound) {
		return nil, "", timecode.Base{}, 0, &Problem{
			What: fmt.Sprintf("neither a reel nor selects are named %q", opt.Of),
			Hint: "'rushlight reels' and 'rushlight selects' list them", Kind: bank.ErrNotFound,
		}
	}
	if err != nil || len(s.Items) == 0 {
		return nil, opt.Of, timecode.Base{}, 0, err
	}
	cut, _, err := d.lay(ctx, s, ExportOptions{Rate: opt.Rate})
	if err != nil {
		return nil, s.Name, cut.Base, 0, err
	}
	p, err := d.cutPieces(ctx, cut)
	return p, s.Name, cut.Base, cut.Duration(), err
}

func (d *Desk) reelPieces(ctx context.Context, rec story.Recording) ([]subtitles.Piece, error) {
	speech, err := d.speech(ctx, rec.Reel)
	if err != nil {
		return nil, err
	}
	var out []subtitles.Piece
	for q, err := range d.bank.Quotes(ctx, bank.Filter{Reel: rec.Reel}) {
		if err != nil {
			return nil, err
		}
		out = append(out, subtitles.Piece{Quote: q, At: q.In, Speech: speech, Span: q.Span})
	}
	return out, nil
}

func (d *Desk) cutPieces(ctx context.Context, cut story.Cut) ([]subtitles.Piece, error) {
	var out []subtitles.Piece
	speech := map[string][]timecode.Span{}
	for _, e := range cut.Events {
		if e.Gap {
			continue
		}
		quote, err := d.bank.Quote(ctx, e.Code)
		if errors.Is(err, bank.ErrNotFound) {
			// No longer said in its transcript: the words as they were.
			quote = story.Quote{Code: e.Code, Reel: e.Reel, Speaker: e.Speaker, Text: e.Text, Span: e.Talk(), Clock: e.Clock}
		} else if err != nil {
			return nil, err
		}
		if _, ok := speech[e.Reel]; !ok {
			if speech[e.Reel], err = d.speech(ctx, e.Reel); err != nil {
				return nil, err
			}
		}
		talk := e.Talk()
		out = append(out, subtitles.Piece{
			Quote: quote, At: e.Record.In + (talk.In - e.Source.In), Speech: speech[e.Reel], Span: talk,
		})
	}
	return out, nil
}

// speech is the heard speech of a reel, nil if nobody listened.
func (d *Desk) speech(ctx context.Context, reel string) ([]timecode.Span, error) {
	h, err := d.bank.Heard(ctx, reel)
	if errors.Is(err, bank.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return h.Speech, nil
}

func subtitled(file string, doc *timedtext.Document, findings []subtitles.Finding, lim subtitles.Limits) Subtitled {
	clock := timecode.Clock{Base: lim.Base}
	list := make([]Finding, len(findings))
	for i, f := range findings {
		list[i] = Finding{f.Cue, f.Name, clock.In(f.At), f.Rule, f.What, string(f.Severity)}
	}
	out := Subtitled{File: file, Cues: len(doc.Cues), Findings: list, Limits: map[string]any{
		"line_length": lim.LineLength, "lines": lim.Lines,
		"min_seconds": lim.MinDuration.Seconds(), "max_seconds": lim.MaxDuration.Seconds(),
		"gap_frames": lim.Gap, "characters_per_second": lim.ReadingSpeed,
		"words_per_minute": lim.WordsPerMinute, "rate": lim.Base.String(),
	}}
	if n := len(doc.Cues); n > 0 {
		out.Seconds = doc.Cues[n-1].Out.Seconds()
	}
	return out
}

// CheckSubtitles lists what breaks the limits in a file of subtitles. It needs
// no bank.
func CheckSubtitles(path string, opt SubtitleOptions) (Subtitled, error) {
	read := timedtext.ReadOptions{As: timedtext.Format(opt.Format)}
	if opt.Rate != "" {
		base, err := parseRate(opt.Rate)
		if err != nil {
			return Subtitled{}, err
		}
		read.Base = base
	}
	doc, err := readTimedText(path, read)
	if err != nil {
		return Subtitled{}, err
	}
	lim, err := opt.limits(doc.Language, doc.Base)
	if err != nil {
		return Subtitled{}, err
	}
	against := lim
	if !doc.Base.Rate.Known() && opt.Rate == "" {
		against.Base = timecode.Base{}
	}
	out := subtitled(path, doc, subtitles.Check(doc, against), lim)
	if !against.Base.Rate.Known() {
		out.Notes = append(out.Notes, fmt.Sprintf("the file tells no frame rate: gaps are counted at %s frames/s, and no time is checked against frames (--rate names one)", lim.Base))
	}
	for _, r := range doc.Repairs {
		out.Lost = append(out.Lost, r.String())
	}
	return out, nil
}
