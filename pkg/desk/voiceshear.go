package desk

import (
	"context"
	"errors"
	"fmt"
	"maps"
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
	if opt.Again != "" {
		again, err := d.measureAgain(ctx, opt.Again)
		if err != nil {
			return out, err
		}
		only = append(only, again...)
	}
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return out, err
	}
	for _, r := range reels {
		named := slices.Contains(only, r.rec.Reel)
		if len(r.speakers) == 0 || len(only) > 0 && !named || r.measured && !named {
			continue
		}
		if err := d.measureReel(ctx, r, named, &out); err != nil {
			return out, err
		}
	}
	if len(out.Reels) == 0 && !slices.ContainsFunc(reels, (*voiceReel).fresh) {
		return out, nil
	}
	_, err = d.change(ctx, "voices", "", func(tx *bank.Tx) error { return d.compareVoices(ctx, tx, &out) })
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
func (d *Desk) measureAgain(ctx context.Context, who string) ([]string, error) {
	var list []string
	_, err := d.change(ctx, "voices", "", func(tx *bank.Tx) error {
		_, name, in, err := d.voice(ctx, who)
		if err != nil {
			return err
		}
		for _, r := range in {
			list = append(list, r.rec.Reel)
		}
		tx.SetSummary(fmt.Sprintf("the voice of %q is measured again", name))
		err = tx.MeasureAgain(name)
		switch {
		case errors.Is(err, bank.ErrNotFound) && story.IsMadeUp(name):
			return nil
		case errors.Is(err, bank.ErrNotFound):
			return refuse("", "the voice of %s was not forgotten", name)
		}
		return err
	})
	return list, err
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

// measureReel measures the voices of a reel and stores that, which is no entry
// of the journal. named tells that somebody named the reel.
func (d *Desk) measureReel(ctx context.Context, r *voiceReel, named bool, out *VoicesHeard) error {
	if !exists(r.rec.Path) {
		out.Notes = append(out.Notes, fmt.Sprintf("%s: the recording is not where it was: find it again with 'rushlight relink FOLDER'", r.rec.Reel))
		return nil
	}
	silent, err := d.bank.Unmeasured(ctx)
	if err != nil {
		return err
	}
	var measured []story.Turn
	for _, t := range r.turns {
		// Turns without a speaker of their own keep others' clean.
		if !silent(t.Speaker) {
			measured = append(measured, t)
		}
	}
	found, err := d.listenToVoices(ctx, r.rec, measured)
	if err != nil {
		return err
	}
	_, err = d.change(ctx, "voices", "", func(tx *bank.Tx) error { return d.keepMeasures(ctx, tx, r, found, named) })
	if err == nil {
		out.Reels = append(out.Reels, r.rec.Reel)
	}
	return err
}

// keepMeasures stores what was measured of a reel, as r was when that began,
// for the speakers and the wishes that are there by now.
func (d *Desk) keepMeasures(ctx context.Context, tx *bank.Tx, r *voiceReel, found map[string]listen.VoiceMeasure, named bool) error {
	silent, err := d.bank.Unmeasured(ctx)
	if err != nil {
		return err
	}
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(reels, func(now *voiceReel) bool { return now.rec.Reel == r.rec.Reel })
	if i < 0 {
		return nil // gone by now
	}
	now := reels[i]
	then := map[string]string{}
	for s, digest := range r.digests {
		then[digest] = s
	}
	var list []story.VoiceMeasure
	for _, s := range now.speakers {
		m := story.VoiceMeasure{Reel: r.rec.Reel, Turns: now.digests[s]}
		was, known := now.measures[m.Turns]
		old, heard := then[m.Turns]
		v, enough := found[old]
		switch {
		case !heard && !known:
			continue // other turns than those that were measured
		case silent(s), known && len(was) == 0 && !named:
			// A number that was forgotten stays so, unless its reel is named.
		case !heard:
			m.Body = was
		case enough:
			if m.Body, err = v.MarshalBinary(); err != nil {
				return err
			}
		}
		list = append(list, m)
	}
	return tx.PutMeasures(r.rec.Reel, list)
}

func (d *Desk) listenToVoices(ctx context.Context, rec story.Recording, turns []story.Turn) (map[string]listen.VoiceMeasure, error) {
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

// compareVoices gives the voices of reels that were measured, and not compared
// yet, the names that they have in the whole bank.
func (d *Desk) compareVoices(ctx context.Context, tx *bank.Tx, out *VoicesHeard) error {
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return err
	}
	names, err := d.matchReels(ctx, reels, out)
	if err != nil {
		return err
	}
	fresh := 0
	for _, r := range reels {
		if !r.fresh() {
			continue
		}
		fresh++
		if err := tx.SetCompared(r.rec.Reel, slices.Collect(maps.Values(r.digests))); err != nil {
			return err
		}
	}
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
	tx.SetSummary(fmt.Sprintf("compared the voices of %s: %s joined", count(fresh, "reel", "reels"), count(len(out.Joined), "voice", "voices")))
	return nil
}

// fresh tells that a reel was measured and not compared: made-up names mean
// nothing beyond it.
func (r *voiceReel) fresh() bool { return r.measured && !r.compared }

// voiceName is a new name of a speaker of a reel.
type voiceName struct{ reel, from, to string }

// matchReels says which speakers get another name.
func (d *Desk) matchReels(ctx context.Context, reels []*voiceReel, out *VoicesHeard) ([]voiceName, error) {
	apart, err := d.bank.Apart(ctx)
	if err != nil {
		return nil, err
	}
	var list []listen.KnownVoice
	var was []string // the speaker's name as it stands
	taken := numbers{}
	for _, r := range reels {
		for _, s := range r.speakers {
			if !story.IsMadeUp(s) || r.compared {
				taken[strings.ToLower(s)] = true
			}
		}
	}
	for _, r := range reels {
		if !r.measured {
			continue
		}
		for _, s := range r.speakers {
			m, err := r.measure(s)
			if err != nil {
				return nil, err
			}
			v := listen.KnownVoice{Reel: r.rec.Reel, Speaker: s, Named: !story.IsMadeUp(s), Known: r.compared, Measure: m}
			if !v.Named && !v.Known {
				v.Speaker = taken.keep(s)
			}
			list, was = append(list, v), append(was, s)
		}
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
