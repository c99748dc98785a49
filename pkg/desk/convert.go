package desk

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"time"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// ConvertOptions say how a file of timed text becomes another.
type ConvertOptions struct {
	In  string
	Out Output
	// As and Encoding override what the file seems to be, Format what the
	// name of the new one says.
	As, Encoding, Format string
	// FromRate and ToRate show the same frames at another rate; FromRate
	// alone is the rate of the file's timecodes.
	FromRate, ToRate string
	// Shift is added to every time ("-1.5"), Stretch multiplies ("25/24"),
	// Start is the timecode of the programme's first frame.
	Shift, Stretch, Start string
	Language              string
}

// Converted says what was written.
type Converted struct {
	File string `json:"file"`
	From string `json:"from"`
	To   string `json:"to"`
	Cues int    `json:"cues"`
	// Mended is what was wrong in the file, with its place; Notes is what
	// became of times; Lost what the new format can't carry.
	Mended []string `json:"mended,omitempty"`
	Notes  []string `json:"notes,omitempty"`
	Lost   []string `json:"lost,omitempty"`
}

// Convert reads a file of timed text and writes it in another format or with
// other times. It needs no bank.
func Convert(opt ConvertOptions) (Converted, error) {
	var done Converted
	format, err := SubtitleOptions{Format: opt.Format, Out: opt.Out}.format()
	if err != nil {
		return done, err
	}
	opt.Out.kept = []string{opt.In}
	if err := opt.Out.check(); err != nil {
		return done, err
	}
	retiming, base, err := opt.retiming()
	if err != nil {
		return done, err
	}
	doc, err := readTimedText(opt.In, timedtext.ReadOptions{As: timedtext.Format(opt.As), Encoding: opt.Encoding, Base: base})
	if err != nil {
		return done, err
	}
	in := firstKnown(doc.Base, base)
	var note string
	doc.ProgrammeStart, retiming.Start, note, err = newStart(doc, format, opt.Start, in, firstKnown(timecode.Base{Rate: retiming.To}, in))
	if err != nil {
		return done, err
	}
	changed, notes, err := timedtext.Retime(doc, retiming)
	if err != nil {
		return done, &Problem{What: err.Error(), Kind: ErrUsage}
	}
	if len(doc.Cues) > 0 && len(changed.Cues) == 0 {
		return done, usage("a smaller --shift", "nothing is left: every cue would lie before the beginning")
	}
	done = Converted{File: opt.Out.Path, From: string(doc.Format), To: string(format), Cues: len(changed.Cues), Notes: notes}
	if note != "" {
		done.Notes = append([]string{note}, notes...)
	}
	for _, r := range doc.Repairs {
		done.Mended = append(done.Mended, r.String())
	}
	if opt.Language != "" {
		changed.Language = opt.Language
	}
	if format == timedtext.STL && !firstKnown(changed.Base, base).Rate.Known() {
		return done, usage("--from-rate 25 or 30", "EBU STL counts frames: %s doesn't say how many a second has", opt.In)
	}
	var made time.Time
	if info, err := os.Stat(opt.In); err == nil {
		made = info.ModTime()
	}
	err = opt.Out.write(func(w io.Writer) error {
		done.Lost, err = timedtext.Write(w, changed, format, timedtext.WriteOptions{
			Base: firstKnown(changed.Base, base), ProgrammeStart: changed.ProgrammeStart, Language: changed.Language, Title: changed.Title, Made: made,
		})
		return err
	})
	return done, err
}

// retiming reads the options; base is for timecodes in the file.
func (o ConvertOptions) retiming() (timedtext.Retiming, timecode.Base, error) {
	var r timedtext.Retiming
	var from, to timecode.Base
	var err error
	if o.FromRate != "" {
		if from, err = timecode.ParseBase(o.FromRate); err != nil {
			return r, from, &Problem{What: "--from-rate: " + err.Error(), Hint: "for example --from-rate 25", Kind: ErrUsage}
		}
	}
	if o.ToRate != "" {
		if o.FromRate == "" {
			return r, from, usage("say both, for example --from-rate 25 --to-rate 23.976", "--to-rate needs --from-rate")
		}
		if to, err = timecode.ParseBase(o.ToRate); err != nil {
			return r, from, &Problem{What: "--to-rate: " + err.Error(), Hint: "for example --from-rate 25 --to-rate 23.976", Kind: ErrUsage}
		}
		r.From, r.To = from.Rate, to.Rate
	}
	if o.Stretch != "" {
		if r.Stretch, err = timedtext.ParseFactor(o.Stretch); err != nil {
			return r, from, &Problem{What: err.Error(), Hint: "for example --stretch 1.001 or --stretch 25/24", Kind: ErrUsage}
		}
	}
	if o.Shift != "" {
		w, err := timecode.Parse(o.Shift, timecode.Base{})
		if err != nil || w.Frames {
			return r, from, usage("seconds or minutes, for example --shift=-1.5 or --shift 1:00", "%q is not a time to shift by", o.Shift)
		}
		r.Shift = w.Ticks
	}
	return r, from, nil
}

func firstKnown(list ...timecode.Base) timecode.Base {
	for _, b := range list {
		if b.Rate.Known() {
			return b
		}
	}
	return timecode.Base{}
}

// readTimedText reads a file of timed text by its path.
func readTimedText(path string, opt timedtext.ReadOptions) (*timedtext.Document, error) {
	if opt.As != "" && !knownFormat(opt.As) {
		return nil, usage(formats(false), "unknown format %q", opt.As)
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, usage("name a file in it", "%s is a folder", path)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, &Problem{What: path + ": " + plainError(err)}
	}
	defer file.Close()
	opt.Name = filepath.Base(path)
	doc, err := timedtext.Read(file, opt)
	var parse *timedtext.ParseError
	if err != nil && !errors.As(err, &parse) {
		return nil, &Problem{What: path, Err: err}
	}
	return doc, err
}
