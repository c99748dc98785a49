package desk

import (
	"context"
	"errors"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// IngestOptions say what to take in and how to read it.
type IngestOptions struct {
	Paths []string
	// For names the reel that the transcripts belong to.
	For string
	// As and Encoding override what a transcript seems to be.
	As, Encoding string
	// Rate is the frame rate of timecode labels where a file has none.
	Rate string
	// Language is the BCP 47 tag of the talk.
	Language string
	// Again reads files anew that haven't changed.
	Again bool
	// KeepTimes leaves the times of transcripts where they are: none is moved to
	// where the words fit the sound, nor to the sound's clock.
	KeepTimes bool
	// Each is told of every file as it is done; may be nil.
	Each func(FileReport)
}

// IngestReport says what became of each file.
type IngestReport struct {
	Files []FileReport `json:"files"`
	// Counts has the number of files in each state.
	Counts map[FileState]int `json:"counts"`
	// Lost holds the tagged quotes that a corrected transcript no longer has.
	Lost []story.Quote `json:"lost,omitempty"`
	// Voices are those that were found to be known from other reels, in a bank
	// in which voices were compared before.
	Voices []VoiceJoined `json:"voices,omitempty"`
	// Measured is how many reels' voices were compared for that.
	Measured int `json:"voices_measured,omitempty"`
	// Passed are files that are neither sound nor timed text.
	Passed []string `json:"passed_over"`
	// Quotes is the number of quotes in the bank afterwards.
	Quotes int `json:"quotes"`
}

// ingest is one run.
type ingest struct {
	*Desk
	opt    IngestOptions
	base   timecode.Base // for files without a rate
	ruled  bool          // base was given by hand
	report IngestReport
}

// Ingest takes in recordings and transcripts. Each file is a transaction of
// its own, so that a run that stops early leaves a bank that opens and goes
// on from there. The error is for what ends the whole run; files that can't
// be taken stand in the report.
func (d *Desk) Ingest(ctx context.Context, opt IngestOptions) (IngestReport, error) {
	in := &ingest{Desk: d, opt: opt, report: IngestReport{Counts: map[FileState]int{}}}
	if err := in.prepare(ctx); err != nil {
		return in.report, err
	}
	g, err := gather(ctx, opt.Paths)
	if err != nil {
		return in.report, err
	}
	in.report.Passed = append([]string{}, g.passed...)
	for _, r := range g.refused {
		in.add(r)
	}
	if err := in.takeAll(ctx, g.files); err != nil {
		return in.report, err
	}
	sum, err := d.bank.Summary(ctx)
	if err != nil {
		return in.report, err
	}
	in.report.Quotes = sum.Quotes
	if err := in.hearNewVoices(ctx); err != nil {
		return in.report, err
	}
	return in.report, d.freshen(ctx)
}

// prepare checks the options before any file is touched.
func (in *ingest) prepare(ctx context.Context) error {
	if len(in.opt.Paths) == 0 {
		return usage("for example 'rushlight ingest rushes/'", "nothing to take in")
	}
	sum, err := in.bank.Summary(ctx)
	if err != nil {
		return err
	}
	in.base = sum.Base
	if !in.base.Rate.Known() {
		in.base = timecode.Base{Rate: timecode.Rate25}
	}
	if in.opt.Rate != "" {
		if in.base, err = parseRate(in.opt.Rate); err != nil {
			return err
		}
		in.ruled = true
	}
	if in.opt.For != "" {
		rec, err := in.recording(ctx, in.opt.For)
		if err != nil {
			return err
		}
		in.opt.For = rec.Reel
	}
	if in.opt.As != "" && !knownFormat(timedtext.Format(in.opt.As)) {
		return usage(formats(false), "unknown format %q", in.opt.As)
	}
	return nil
}

// knownFormat tells whether transcripts can be read in a format.
func knownFormat(f timedtext.Format) bool { return slices.Contains(timedtext.Formats(), f) }

// formats lists the names of formats for a hint.
func formats(written bool) string {
	var names []string
	for _, f := range timedtext.Formats() {
		if !written || f.Written() {
			names = append(names, string(f))
		}
	}
	if written && !slices.Contains(names, string(timedtext.EBUTTD)) {
		names = append(names, string(timedtext.EBUTTD))
	}
	return "formats: " + joinAnd(names)
}

// takeAll takes sound first, so that transcripts find their reels.
func (in *ingest) takeAll(ctx context.Context, files []found) error {
	var texts []found
	for _, f := range files {
		if f.kind != kindSound {
			texts = append(texts, f)
		}
	}
	if in.opt.For != "" && len(texts) > 1 {
		return usage("name one transcript with --for", "%d transcripts for one reel", len(texts))
	}
	for _, f := range files {
		if f.kind != kindSound {
			continue
		}
		if err := in.keep(in.takeSound(ctx, f)); err != nil {
			return err
		}
	}
	for _, f := range texts {
		if err := in.keep(in.takeText(ctx, f, texts)); err != nil {
			return err
		}
	}
	return nil
}

// keep adds a file's report; an error that ends the run is handed on.
func (in *ingest) keep(r FileReport) error {
	if r.err != nil && stops(r.err) {
		return r.err
	}
	in.add(r)
	return nil
}

func (in *ingest) add(r FileReport) {
	in.report.Files = append(in.report.Files, r)
	in.report.Counts[r.State]++
	if in.opt.Each != nil {
		in.opt.Each(r)
	}
}

var (
	dayLabel = regexp.MustCompile(`(?i)^(d|day)[ _-]?([0-9]{1,3})([^0-9].*)?$`)
	// dayFolder is what a folder further up may be called: cameras number
	// theirs too (D750).
	dayFolder = regexp.MustCompile(`(?i)^(d|day|tag|drehtag|jour|d[ií]a|giorno|dag)[ _-]?([0-9]{1,2})([^0-9].*)?$`)
)

// dayOf tells the day of a recording: the crew's own label at the head of the
// reel's name (D2-INT2), else of its folder (day2) or one of the two above it
// (day2/sound/card1), else the recorder's date.
func dayOf(reel, path, date string) string {
	names := []string{reel}
	for range 3 {
		path = filepath.Dir(path)
		names = append(names, filepath.Base(path))
	}
	for i, name := range names {
		label := dayLabel
		if i > 0 {
			label = dayFolder
		}
		if m := label.FindStringSubmatch(name); m != nil {
			return "D" + strings.TrimLeft(m[2][:len(m[2])-1], "0") + m[2][len(m[2])-1:]
		}
	}
	return date
}

// freeReel finds a name for a new recording: its own, else with its folder's
// name before it, else numbered.
func (in *ingest) freeReel(ctx context.Context, path string) (string, error) {
	stem := story.ReelName(stemOf(path))
	if stem == "" {
		stem = "reel"
	}
	folder := story.ReelName(filepath.Base(filepath.Dir(path)))
	names := []string{stem}
	if folder != "" {
		names = append(names, story.ReelName(folder+"-"+stem))
	}
	// A reel's name has an end: the number must fit before it.
	short := stem
	if r := []rune(stem); len(r) > 60 {
		short = string(r[:60])
	}
	for i := 2; i < 1000; i++ {
		names = append(names, story.ReelName(short+"-"+itoa(i)))
	}
	for _, name := range names {
		_, err := in.bank.Recording(ctx, name)
		if errors.Is(err, bank.ErrNotFound) {
			return name, nil
		}
		if err != nil {
			return "", err
		}
	}
	return "", refuse("give the file another name", "a thousand reels are named %s", stem)
}

func stemOf(path string) string {
	base := filepath.Base(path)
	return strings.TrimSuffix(base, filepath.Ext(base))
}
