package desk

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/story"
)

// voiceReel is what is known of the voices of one reel.
type voiceReel struct {
	rec   story.Recording
	turns []story.Turn
	// speakers in order of appearance, and the digest of each one's turns.
	speakers []string
	digests  map[string]string
	// measures by digest; measured tells that there is one for each speaker,
	// compared that they were compared with those of the other reels.
	measures           map[string][]byte
	measured, compared bool
}

// speaks tells whether somebody of this name speaks in the reel.
func (r *voiceReel) speaks(name string) bool {
	return slices.ContainsFunc(r.speakers, func(s string) bool { return strings.EqualFold(s, name) })
}

// voiceReels reads all reels with sound. Inside a change it reads the bank as
// it was when that began.
func (d *Desk) voiceReels(ctx context.Context) ([]*voiceReel, error) {
	recs, err := d.bank.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	turns, err := d.bank.Turns(ctx)
	if err != nil {
		return nil, err
	}
	measures, err := d.bank.Measures(ctx)
	if err != nil {
		return nil, err
	}
	compared, err := d.bank.Compared(ctx)
	if err != nil {
		return nil, err
	}
	bodies := map[string]map[string][]byte{}
	for _, m := range measures {
		if bodies[m.Reel] == nil {
			bodies[m.Reel] = map[string][]byte{}
		}
		bodies[m.Reel][m.Turns] = m.Body
	}
	var out []*voiceReel
	for _, rec := range recs {
		heard, ok := turns[rec.Reel]
		if !ok {
			continue
		}
		r := &voiceReel{rec: rec, turns: heard, digests: map[string]string{}, measures: bodies[rec.Reel]}
		for _, t := range heard {
			if _, ok := r.digests[t.Speaker]; !ok && t.Speaker != "" {
				r.speakers = append(r.speakers, t.Speaker)
				r.digests[t.Speaker] = story.TurnsDigest(heard, t.Speaker)
			}
		}
		r.measured = len(r.speakers) > 0
		for _, digest := range r.digests {
			if _, ok := r.measures[digest]; !ok {
				r.measured = false
			}
		}
		r.compared = r.measured
		for _, digest := range r.digests {
			r.compared = r.compared && compared(rec.Reel, digest)
		}
		out = append(out, r)
	}
	return out, nil
}

// measure is what a speaker's voice is known by; the empty one for none.
func (r *voiceReel) measure(speaker string) (listen.VoiceMeasure, error) {
	var m listen.VoiceMeasure
	body := r.measures[r.digests[speaker]]
	if len(body) == 0 {
		return m, nil
	}
	if err := m.UnmarshalBinary(body); err != nil {
		return m, fmt.Errorf("voice of %s in %s: %w", speaker, r.rec.Reel, err)
	}
	return m, nil
}

// isOthers tells whether a measure is that of somebody else in the reel.
func (r *voiceReel) isOthers(digest, name string) bool {
	for s, d := range r.digests {
		if d == digest && !strings.EqualFold(s, name) {
			return true
		}
	}
	return false
}

// voice reads all reels and finds a voice in them; see voiceNamed.
func (d *Desk) voice(ctx context.Context, who string) (reels []*voiceReel, name string, in []*voiceReel, err error) {
	if reels, err = d.voiceReels(ctx); err == nil {
		name, in, err = voiceNamed(reels, who)
	}
	return reels, name, in, err
}

// voiceNamed finds a voice by name or number, and the reels in which it
// speaks. One that listening named and that wasn't compared is nobody's yet.
func voiceNamed(reels []*voiceReel, who string) (string, []*voiceReel, error) {
	who = strings.TrimSpace(who)
	if n, err := strconv.ParseUint(who, 10, 32); err == nil {
		who = fmt.Sprintf("Voice %d", n)
	}
	name := ""
	var in []*voiceReel
	for _, r := range reels {
		for _, s := range r.speakers {
			if !strings.EqualFold(s, who) {
				continue
			}
			if name = s; story.IsMadeUp(s) && !r.compared {
				return "", nil, refuse("compare them first: rushlight voices hear", "%s of %s was not compared with the voices of other reels", s, r.rec.Reel)
			}
			in = append(in, r)
		}
	}
	if name == "" {
		return "", nil, &Problem{What: fmt.Sprintf("no voice %q", who), Hint: "'rushlight voices' lists them", Kind: bank.ErrNotFound}
	}
	return name, in, nil
}
