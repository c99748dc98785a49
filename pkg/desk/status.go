package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rushlight/index"
	"rushlight/pkg/bank"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Status is what a bank holds.
type Status struct {
	Bank     string  `json:"bank"`
	Title    string  `json:"title"`
	Rate     string  `json:"rate"`
	Reels    int     `json:"reels"`
	Heard    int     `json:"heard"`
	Quotes   int     `json:"quotes"`
	Tagged   int     `json:"tagged"`
	Strong   int     `json:"strong"`
	Themes   int     `json:"themes"`
	Selects  int     `json:"selects"`
	Sound    float64 `json:"sound_seconds"`
	Speech   float64 `json:"speech_seconds"`
	Changes  int64   `json:"changes"`
	UpToDate bool    `json:"index_up_to_date"`
	// Missing names reels whose sound is not where it was.
	Missing []string `json:"missing"`
	// Wordless names reels without a transcript.
	Wordless []string `json:"wordless"`
}

// Status looks over the bank.
func (d *Desk) Status(ctx context.Context) (Status, error) {
	sum, err := d.bank.Summary(ctx)
	if err != nil {
		return Status{}, err
	}
	s := Status{
		Bank: d.Dir(), Title: sum.Title, Rate: sum.Base.String(),
		Reels: sum.Recordings, Heard: sum.Heard, Quotes: sum.Quotes, Tagged: sum.Tagged, Strong: sum.Strong,
		Themes: sum.Themes, Selects: sum.Selects, Sound: sum.Sound.Seconds(), Speech: sum.Speech.Seconds(),
		Changes: sum.State, Missing: []string{}, Wordless: []string{},
	}
	id, seen, err := index.Seen(d.indexDir())
	s.UpToDate = err == nil && id == d.bank.ID() && seen == sum.State
	recs, err := d.bank.Recordings(ctx)
	if err != nil {
		return s, err
	}
	for _, r := range recs {
		if r.Essence != "" && !exists(r.Path) {
			s.Missing = append(s.Missing, r.Reel)
		}
		if r.Transcript.Path == "" {
			s.Wordless = append(s.Wordless, r.Reel)
		}
	}
	return s, nil
}

// Reel is one recording as a listing shows it.
type Reel struct {
	story.Recording
	Length  timecode.Moment `json:"duration"`
	Start   string          `json:"start_timecode"`
	Rate    string          `json:"rate"`
	Quotes  int             `json:"quotes"`
	Missing bool            `json:"missing,omitempty"`
	// Places are the markers with their timecode.
	Places []Place `json:"markers,omitempty"`
}

// Place is a marker of a recording.
type Place struct {
	At    timecode.Moment `json:"at"`
	Label string          `json:"label"`
}

// Reels lists the recordings in shooting order.
func (d *Desk) Reels(ctx context.Context) ([]Reel, error) {
	recs, err := d.bank.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	n, err := d.bank.QuotesIn(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]Reel, 0, len(recs))
	for _, r := range recs {
		var places []Place
		for _, m := range r.Markers {
			places = append(places, Place{r.Clock.In(m.At), m.Label})
		}
		out = append(out, Reel{
			Places: places, Recording: r, Length: timecode.Clock{Base: r.Clock.Base}.Out(r.Duration), Start: r.Clock.In(0).Timecode,
			Rate: r.Clock.Base.String(), Quotes: n[r.Reel], Missing: r.Essence != "" && !exists(r.Path),
		})
	}
	return out, nil
}

// Relinked says where files were found again.
type Relinked struct {
	Files   []FileReport `json:"files"`
	Missing []string     `json:"missing"`
}

// Relink looks under paths for the recordings that are not where they were,
// by the size and hash of their sound, and remembers where they are now.
func (d *Desk) Relink(ctx context.Context, paths []string) (Relinked, error) {
	out := Relinked{Files: []FileReport{}, Missing: []string{}}
	recs, err := d.bank.Recordings(ctx)
	if err != nil {
		return out, err
	}
	lost := map[string]story.Recording{}
	for _, r := range recs {
		if r.Essence != "" && !exists(r.Path) {
			lost[r.Essence] = r
		}
	}
	g, err := gather(ctx, paths)
	if err != nil {
		return out, err
	}
	out.Files = append(out.Files, g.refused...)
	var again []moved
	for _, f := range g.files {
		if len(lost) == 0 {
			break
		}
		if f.kind != kindSound {
			continue
		}
		hash, _, err := sound.EssenceMedia(ctx, f.path)
		if err != nil {
			out.Files = append(out.Files, refusal(f.path, "", err))
			continue
		}
		rec, ok := lost[hash]
		if !ok {
			continue
		}
		out.Files = append(out.Files, FileReport{Path: f.path, State: Moved, Reel: rec.Reel, What: "was " + rec.Path})
		again = append(again, moved{rec, f})
		delete(lost, hash)
	}
	if err := d.relink(ctx, again); err != nil {
		return out, err
	}
	for _, r := range recs {
		if _, still := lost[r.Essence]; still && r.Essence != "" {
			out.Missing = append(out.Missing, r.Reel)
		}
	}
	if err := d.freshen(ctx); err != nil {
		return out, err
	}
	if len(out.Missing) > 0 {
		return out, &Problem{What: fmt.Sprintf("%s still missing", count(len(out.Missing), "recording", "recordings")), Hint: joinAnd(out.Missing)}
	}
	return out, nil
}

// moved is a recording whose file was found somewhere else.
type moved struct {
	story.Recording
	to found
}

// relink remembers where the files of recordings are now, all in one change.
func (d *Desk) relink(ctx context.Context, again []moved) error {
	_, err := d.change(ctx, "relink", count(len(again), "recording", "recordings")+" found again", func(tx *bank.Tx) error {
		for _, m := range again {
			err := lies(tx, m.Recording, m.to)
			if err != nil && !errors.Is(err, bank.ErrNotFound) { // taken out meanwhile
				return err
			}
		}
		return nil
	})
	return err
}

// SpeakerName says who really speaks: from is a name as it stands, in any case, in
// one reel or, with reel "", everywhere. It tells how many quotes that changed.
func (d *Desk) SpeakerName(ctx context.Context, reel, from, to string) (int, error) {
	if to = strings.TrimSpace(to); to == "" {
		return 0, usage("for example 'rushlight speakers name \"Voice 1\" Ines'", "a speaker needs a name")
	}
	quotes, turns := 0, 0
	_, err := d.change(ctx, "speakers", fmt.Sprintf("%q is %q", from, to), func(tx *bank.Tx) error {
		recs, err := tx.Recordings()
		if reel != "" {
			recs = make([]story.Recording, 1)
			recs[0], err = d.recording(ctx, reel)
		}
		if err != nil {
			return err
		}
		for _, r := range recs {
			q, t, err := tx.SetSpeaker(r.Reel, from, to)
			if err != nil {
				return err
			}
			quotes, turns = quotes+q, turns+t
		}
		if reel == "" && quotes+turns > 0 {
			return tx.RenameVoice(from, to)
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	if quotes+turns == 0 {
		return 0, refuse("'rushlight speakers' lists them", "nobody is called %q, or all are called %q already", from, to)
	}
	return quotes, d.freshen(ctx)
}

// Speaker is one person's talk over all reels.
type Speaker struct {
	Speaker string   `json:"speaker"`
	Quotes  int      `json:"quotes"`
	Seconds float64  `json:"seconds"`
	Reels   []string `json:"reels"`
	ticks   timecode.Ticks
}

// Speakers lists who speaks, by the length of their quotes.
func (d *Desk) Speakers(ctx context.Context) ([]Speaker, error) {
	talk, err := d.bank.Talk(ctx)
	if err != nil {
		return nil, err
	}
	at := map[string]int{}
	out := []Speaker{}
	for _, t := range talk {
		i, ok := at[t.Speaker]
		if !ok {
			i, at[t.Speaker] = len(out), len(out)
			out = append(out, Speaker{Speaker: t.Speaker})
		}
		s := &out[i]
		s.Quotes += t.Quotes
		s.ticks += t.Length
		s.Seconds = s.ticks.Seconds()
		s.Reels = append(s.Reels, t.Reel)
	}
	slices.SortStableFunc(out, func(a, b Speaker) int {
		return cmp.Or(cmp.Compare(b.ticks, a.ticks), cmp.Compare(a.Speaker, b.Speaker))
	})
	return out, nil
}
