package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/interchange"
	"rushlight/pkg/selects"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/subtitles"
	"rushlight/pkg/timecode"
)

// ExportOptions say what leaves, as what, and where to.
type ExportOptions struct {
	Selects string
	// Form is edl, otio, wav, paper or csv.
	Form string
	Out  Output
	// Handles is the spare time before and after each piece, "" for none
	// (WAV: half a second).
	Handles string
	// Rate is the frame rate of the cut, "" for that of most of its items.
	Rate string
	// Start is the label of the first frame, "" for 01:00:00:00.
	Start string
	// Gap is the silence between the pieces of a stringout.
	Gap string
	// Level is the loudness in LUFS that each piece of a stringout is
	// brought to, 0 for none.
	Level float64
	// Split writes edit decision lists of as many events as old lists hold, to
	// cut_1.edl, cut_2.edl … where there are more.
	Split bool
	// Video writes picture and sound: the picture of the camera that was
	// lined up, else of the reel itself.
	Video bool
}

// Exported says what was written.
type Exported struct {
	File string `json:"file"`
	// Files are the lists of a cut that was split, nil if it wasn't.
	Files   []string `json:"files,omitempty"`
	Form    string   `json:"form"`
	Items   int      `json:"items"`
	Seconds float64  `json:"seconds"`
	Notes   []string `json:"notes,omitempty"`
	length  timecode.Ticks
}

// Length is how long what was written runs.
func (e Exported) Length() timecode.Ticks { return e.length }

// Export writes selects in one of the forms that editing rooms take.
func (d *Desk) Export(ctx context.Context, opt ExportOptions) (Exported, error) {
	if !slices.Contains([]string{"edl", "otio", "wav", "paper", "csv"}, opt.Form) {
		return Exported{}, usage("forms: edl, otio, wav, paper, csv", "unknown form %q", opt.Form)
	}
	s, err := d.Selects(ctx, opt.Selects)
	if err != nil {
		return Exported{}, err
	}
	if len(s.Items) == 0 {
		return Exported{}, refuse("put quotes in with 'rushlight selects add'", "selects %q are empty", s.Name)
	}
	opt.Out.sound = opt.Form == "wav"
	if opt.Out, err = d.guard(ctx, opt.Out); err != nil {
		return Exported{}, err
	}
	if err := opt.Out.check(); err != nil {
		return Exported{}, err
	}
	if err := opt.only(); err != nil {
		return Exported{}, err
	}
	cut, notes, err := d.lay(ctx, s, opt)
	if err != nil {
		return Exported{}, err
	}
	if opt.Video {
		if err := d.addPicture(ctx, &cut, opt.Form == "otio", &notes); err != nil {
			return Exported{}, err
		}
	}
	out := Exported{File: opt.Out.Path, Form: opt.Form, Items: len(s.Items), Notes: notes}
	out.setLength(cut.Duration())
	switch opt.Form {
	case "edl":
		err = writeLists(cut, opt, &out)
	case "otio":
		err = opt.Out.write(func(w io.Writer) error { return interchange.WriteOTIO(w, cut) })
	case "paper":
		err = opt.Out.write(func(w io.Writer) error {
			return interchange.WritePaper(w, cut, interchange.PaperOptions{Target: s.Target})
		})
	case "csv":
		err = opt.Out.write(func(w io.Writer) error { return interchange.WriteCSV(w, cut) })
	case "wav":
		err = d.stringout(ctx, cut, opt, &out)
	}
	return out, err
}

// only refuses options that the form has no use for.
func (o ExportOptions) only() error {
	wav := o.Form == "wav"
	switch {
	case !wav && o.Gap != "":
		return usage("--gap is for wav", "%s has no gaps", o.Form)
	case !wav && o.Level != 0:
		return usage("--level is for wav", "%s has no level", o.Form)
	case o.Split && o.Form != "edl":
		return usage("--split is for edl", "%s holds as many events as there are", o.Form)
	case o.Video && o.Form != "edl" && o.Form != "otio":
		return usage("--video is for edl and otio", "%s has no picture", o.Form)
	}
	return nil
}

// writeLists writes a cut as one edit decision list, or as several if that is
// wanted and needed. Nothing is written if one of them can't be.
func writeLists(cut story.Cut, opt ExportOptions, out *Exported) error {
	parts, files := []story.Cut{cut}, []Output{opt.Out}
	if opt.Split && len(cut.Events) > interchange.EDLMaxEvents {
		parts, files = interchange.SplitCut(cut, interchange.EDLMaxEvents), nil
		if opt.Out.Path == "-" {
			return usage("give a file: -o cut.edl", "%d lists can't go to the terminal", len(parts))
		}
		ext := filepath.Ext(opt.Out.Path)
		for i := range parts {
			file := opt.Out
			file.Path = fmt.Sprintf("%s_%d%s", strings.TrimSuffix(file.Path, ext), i+1, ext)
			if err := file.check(); err != nil {
				return err
			}
			files, out.Files = append(files, file), append(out.Files, file.Path)
		}
		out.Notes = append(out.Notes, fmt.Sprintf("%d events in %d lists: %s", len(cut.Events), len(parts), joinAnd(out.Files)))
		out.File = files[0].Path
	}
	for i, part := range parts {
		err := files[i].write(func(w io.Writer) error {
			rep, err := interchange.WriteEDL(w, part, interchange.EDLOptions{Video: opt.Video})
			for _, n := range rep.Notes {
				if !slices.Contains(out.Notes, n) {
					out.Notes = append(out.Notes, n)
				}
			}
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (e *Exported) setLength(t timecode.Ticks) { e.length, e.Seconds = t, t.Seconds() }

// lay makes the cut: frame-exact on the rate asked for or that of most items.
func (d *Desk) lay(ctx context.Context, s story.Selects, opt ExportOptions) (story.Cut, []string, error) {
	recs, err := d.recordings(ctx)
	if err != nil {
		return story.Cut{}, nil, err
	}
	var lay selects.LayOptions
	if opt.Rate != "" {
		if lay.Base, err = parseRate(opt.Rate); err != nil {
			return story.Cut{}, nil, err
		}
	} else if lay.Base, err = selects.CommonBase(s, recs); err != nil {
		lay.Base = timecode.Base{Rate: timecode.Rate25} // no recording knows its rate
	}
	start := opt.Start
	if start == "" {
		start = "01:00:00:00"
	}
	if lay.Start, err = startLabel(start, lay.Base); err != nil {
		return story.Cut{}, nil, err
	}
	handles := opt.Handles
	if lay.Asked = handles != ""; !lay.Asked && opt.Form == "wav" {
		handles = "500ms"
	}
	if lay.Handles, err = parseHandles(handles, lay.Base); err != nil {
		return story.Cut{}, nil, err
	}
	cut, notes, err := selects.Lay(s, recs, lay)
	if err != nil {
		return cut, notes, &Problem{What: err.Error(), Hint: "drop the item with 'rushlight selects drop', or trim it", Kind: err}
	}
	for i, e := range cut.Events {
		if e.Gap {
			continue
		}
		q, err := d.bank.Quote(ctx, e.Code)
		if err != nil && !errors.Is(err, bank.ErrNotFound) {
			return cut, notes, err
		}
		cut.Events[i].Themes = q.Themes
		if talk := e.Talk(); err == nil && (talk.In > q.In || talk.Out < q.Out) {
			if cut.Events[i].Text, err = d.said(ctx, q, talk); err != nil {
				return cut, notes, err
			}
		}
	}
	return cut, notes, nil
}

// said is what a trim leaves of a quote's words.
func (d *Desk) said(ctx context.Context, q story.Quote, used timecode.Span) (string, error) {
	speech, err := d.speech(ctx, q.Reel)
	if err != nil {
		return "", err
	}
	return subtitles.Piece{Quote: q, Speech: speech, Span: used}.Said(), nil
}

// longestGap and longestTone are more than anybody wants of silence and of room
// tone: a slip of the keys must not fill the disk.
const (
	longestGap  = 10 * 60 * timecode.Second
	longestTone = 4 * timecode.Hour
)

// stringout writes the pieces end to end as 24-bit WAV.
func (d *Desk) stringout(ctx context.Context, cut story.Cut, opt ExportOptions, out *Exported) error {
	if opt.Out.Path == "-" {
		return usage("give a file: -o stringout.wav", "a stringout can't go to the terminal")
	}
	silence, err := parseLength(opt.Gap)
	if err != nil {
		return usage("for example 1s or 500ms", "--gap %q is not a length of time", opt.Gap)
	}
	if silence > longestGap {
		return usage("for example 1s or 500ms", "--gap %s is longer than %s", opt.Gap, longestGap.Short())
	}
	pieces := make([]sound.Piece, 0, len(cut.Events))
	for _, e := range cut.Events {
		if e.Path == "" {
			return refuse("ingest its recording, or drop the item", "%s: %s has words only, no sound", e.Code, e.Reel)
		}
		if !exists(e.Path) {
			return &Problem{
				What: fmt.Sprintf("%s %s: the recording is not where it was: %s", e.Code, e.Reel, e.Path),
				Hint: "find moved files again with 'rushlight relink FOLDER'",
			}
		}
		talk := e.Talk()
		pieces = append(pieces, sound.Piece{Path: e.Path, In: talk.In, Out: talk.Out, Lead: e.Lead, Tail: e.Tail})
	}
	recs, err := d.recordings(ctx)
	if err != nil {
		return err
	}
	checked := map[string]bool{}
	for _, e := range cut.Events {
		if checked[e.Reel] {
			continue
		}
		if err := sameSound(ctx, recs[e.Reel]); err != nil {
			return err
		}
		checked[e.Reel] = true
	}
	mixings, err := mixPieces(ctx, pieces, cut.Events, recs, out)
	if err != nil {
		return err
	}
	if opt.Level != 0 {
		if err := levelPieces(ctx, pieces, mixings, opt.Level, cut.Events, out); err != nil {
			return err
		}
	}
	p := d.progress()
	p.Begin("writing "+opt.Out.Path, int64(cut.Duration()))
	defer p.End()
	rep, err := sound.WriteStringout(ctx, opt.Out.Path, pieces, sound.StringoutOptions{
		Bits: 24, Gap: silence, Fill: d.tones(ctx, cut, silence),
		Progress: func(done, total timecode.Ticks) { p.Reached(int64(math.Min(float64(done), float64(total)))) },
	})
	if err != nil {
		return err
	}
	out.setLength(timecode.FromSamples(rep.Frames, rep.SampleRate))
	for _, note := range rep.Notes {
		for _, e := range cut.Events {
			note = strings.ReplaceAll(note, e.Path, e.Reel)
		}
		if !slices.Contains(out.Notes, note) {
			out.Notes = append(out.Notes, note)
		}
	}
	return nil
}

// parseHandles reads a length in seconds, or in frames: 1s, 12f.
func parseHandles(s string, base timecode.Base) (timecode.Ticks, error) {
	if n, ok := strings.CutSuffix(strings.TrimSpace(s), "f"); ok {
		frames, err := strconv.ParseUint(n, 10, 20)
		if err != nil {
			return 0, usage("for example 12f or 1s", "--handles %q is not a number of frames", s)
		}
		return base.Rate.Ticks(int64(frames)), nil
	}
	t, err := parseLength(s)
	if err != nil {
		return 0, usage("for example 12f or 1s", "--handles %q is not a length of time", s)
	}
	return t, nil
}
