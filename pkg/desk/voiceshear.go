package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// VoicesHeard says what came of comparing voices.
type VoicesHeard struct {
	// Reels are those that were measured now.
	Reels []string `json:"reels"`
	// Joined are the voices that were found to be those of others.
	Joined []VoiceJoined `json:"joined"`
	// Notes are what could not be done.
	Notes []string `json:"notes,omitempty"`
}

// VoiceJoined is a voice of a reel that has a name of another now.
type VoiceJoined struct {
	Reel  string  `json:"reel"`
	Was   string  `json:"was"`
	Voice string  `json:"voice"`
	Alike float64 `json:"alike"`
}

// HearVoices measures the voices of reels that weren't compared yet, or of
// those named, and gives voices without a name the name of the one they are
// most like, in whatever reel. A voice that is like no other gets a number of
// its own. Names that a transcript or a person gave are never changed.
func (d *Desk) HearVoices(ctx context.Context, opt HearVoicesOptions) (VoicesHeard, error) {
	out := VoicesHeard{Reels: []string{}, Joined: []VoiceJoined{}}
	only := slices.Clone(opt.Reels)
	for i, name := range only {
		rec, err := d.recording(ctx, name)
		if err != nil {
			return out, err
		}
		only[i] = rec.Reel
	}
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return out, err
	}
	if opt.Again != "" {
		again, err := d.measureAgain(ctx, reels, opt.Again)
		if err != nil {
			return out, err
		}
		only = append(only, again...)
	}
	fresh, err := d.measureReels(ctx, reels, only, &out)
	if err != nil {
		return out, err
	}
	names, err := d.matchReels(ctx, reels, fresh, &out)
	if err != nil || len(names) == 0 {
		return out, err
	}
	_, err = d.change(ctx, "voices", fmt.Sprintf("compared the voices of %s: %s joined", count(len(fresh), "reel", "reels"), count(len(out.Joined), "voice", "voices")),
		func(tx *bank.Tx) error {
			// By names that nobody has, so that two can change places.
			for i, n := range names {
				if _, _, err := tx.SetSpeaker(n.reel, n.from, fmt.Sprintf("\x01%d", i)); err != nil {
					return err
				}
			}
			for i, n := range names {
				if _, _, err := tx.SetSpeaker(n.reel, fmt.Sprintf("\x01%d", i), n.to); err != nil {
					return err
				}
			}
			return nil
		})
	if err != nil {
		return out, err
	}
	return out, d.freshen(ctx)
}

// HearVoicesOptions say whose voices are measured.
type HearVoicesOptions struct {
	// Reels are measured whether they were before or not; without any, those
	// that weren't.
	Reels []string
	// Again is somebody who was forgotten and agrees to be measured again.
	Again string
}

// measureAgain lets a voice be measured that was forgotten, and gives the
// reels in which it speaks.
func (d *Desk) measureAgain(ctx context.Context, reels []*voiceReel, who string) ([]string, error) {
	name, in, err := voiceNamed(reels, who)
	if err != nil {
		return nil, err
	}
	_, err = d.change(ctx, "voices", fmt.Sprintf("the voice of %q is measured again", name), func(tx *bank.Tx) error { return tx.MeasureAgain(name) })
	if errors.Is(err, bank.ErrNotFound) && !story.IsMadeUp(name) {
		return nil, refuse("", "the voice of %s was not forgotten", name)
	}
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return nil, err
	}
	var list []string
	for _, r := range in {
		list = append(list, r.rec.Reel)
	}
	return list, nil
}

// hearNewVoices compares the voices of new reels where somebody has asked for
// that before: in a bank that holds measures.
func (in *ingest) hearNewVoices(ctx context.Context) error {
	known, err := in.bank.Measures(ctx)
	if err != nil || len(known) == 0 {
		return err
	}
	heard, err := in.HearVoices(ctx, HearVoicesOptions{})
	in.report.Voices, in.report.Measured = heard.Joined, len(heard.Reels)
	return err
}

// measureReels measures what has to be; it tells which reels it did.
func (d *Desk) measureReels(ctx context.Context, reels []*voiceReel, only []string, out *VoicesHeard) (map[string]bool, error) {
	silent, err := d.bank.Unmeasured(ctx)
	if err != nil {
		return nil, err
	}
	fresh := map[string]bool{}
	for _, r := range reels {
		named := slices.Contains(only, r.rec.Reel)
		if len(r.speakers) == 0 || len(only) > 0 && !named || r.compared && !named {
			continue
		}
		if !exists(r.rec.Path) {
			out.Notes = append(out.Notes, fmt.Sprintf("%s: the recording is not where it was: find it again with 'rushlight relink FOLDER'", r.rec.Reel))
			continue
		}
		var measured []story.Turn
		for _, t := range r.turns {
			// Turns without a speaker of their own keep others' clean.
			if !slices.Contains(silent, strings.ToLower(t.Speaker)) {
				measured = append(measured, t)
			}
		}
		found, err := d.measureReel(ctx, r.rec, measured)
		if err != nil {
			return nil, err
		}
		list := make([]story.VoiceMeasure, 0, len(r.speakers))
		for _, s := range r.speakers {
			m := story.VoiceMeasure{Reel: r.rec.Reel, Turns: r.digests[s]}
			was, known := r.measures[m.Turns]
			// A number that was forgotten stays so, unless its reel is named.
			if v, ok := found[s]; ok && (named || !known || len(was) > 0) {
				if m.Body, err = v.MarshalBinary(); err != nil {
					return nil, err
				}
			}
			list = append(list, m)
		}
		if err := d.bank.PutMeasures(ctx, r.rec.Reel, list); err != nil {
			return nil, err
		}
		// A reel that was compared before has names for all the film.
		fresh[r.rec.Reel] = !r.compared
		r.measures, r.compared = map[string][]byte{}, true
		for _, m := range list {
			r.measures[m.Turns] = m.Body
		}
		out.Reels = append(out.Reels, r.rec.Reel)
	}
	return fresh, nil
}

func (d *Desk) measureReel(ctx context.Context, rec story.Recording, turns []story.Turn) (map[string]listen.VoiceMeasure, error) {
	rd, err := sound.OpenMedia(ctx, rec.Path)
	if err != nil {
		return nil, err
	}
	defer rd.Close()
	rd.SkipEssence()
	defer frugal()()
	p := d.progress()
	p.Begin("hearing the voices of "+rec.Reel, int64(rec.Duration))
	defer p.End()
	return listen.MeasureVoices(ctx, rd, turns, func(done timecode.Ticks) { p.Reached(int64(done)) })
}

// voiceName is a new name of a speaker of a reel.
type voiceName struct{ reel, from, to string }

// matchReels says which speakers get another name. Made-up names of reels that
// are fresh mean nothing beyond their reel.
func (d *Desk) matchReels(ctx context.Context, reels []*voiceReel, fresh map[string]bool, out *VoicesHeard) ([]voiceName, error) {
	pairs, err := d.bank.Apart(ctx)
	if err != nil {
		return nil, err
	}
	var list []listen.KnownVoice
	var was []string // the speaker's name as it stands
	taken := numbers{}
	for _, r := range reels {
		for _, s := range r.speakers {
			if !story.IsMadeUp(s) || r.compared && !fresh[r.rec.Reel] {
				taken[strings.ToLower(s)] = true
			}
		}
	}
	for _, r := range reels {
		if !r.compared {
			continue
		}
		for _, s := range r.speakers {
			m, err := r.measure(s)
			if err != nil {
				return nil, err
			}
			v := listen.KnownVoice{Reel: r.rec.Reel, Speaker: s, Named: !story.IsMadeUp(s), Known: !fresh[r.rec.Reel], Measure: m}
			if !v.Named && !v.Known {
				v.Speaker = taken.keep(s)
			}
			list, was = append(list, v), append(was, s)
		}
	}
	apart := func(one, other string) bool {
		a, b := strings.ToLower(one), strings.ToLower(other)
		return slices.Contains(pairs, [2]string{min(a, b), max(a, b)})
	}
	to := make([]string, len(list))
	for i, v := range list {
		to[i] = v.Speaker
	}
	for _, j := range listen.MatchVoices(list, apart) {
		if to[j.Voice] = list[j.With].Speaker; list[j.Voice].Speaker == to[j.Voice] {
			continue
		}
		out.Joined = append(out.Joined, VoiceJoined{Reel: list[j.Voice].Reel, Was: was[j.Voice], Voice: to[j.Voice], Alike: j.Alike})
	}
	var names []voiceName
	for i, v := range list {
		if to[i] != was[i] {
			names = append(names, voiceName{v.Reel, was[i], to[i]})
		}
	}
	return names, nil
}

// keep takes a made-up name as it is if it is free, else the next number.
func (n numbers) keep(name string) string {
	if key := strings.ToLower(name); strings.HasPrefix(key, "voice ") && !n[key] {
		n[key] = true
		return name
	}
	return n.next()
}
