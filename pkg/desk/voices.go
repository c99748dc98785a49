package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Voice is one person's talk over all reels.
type Voice struct {
	Voice   string   `json:"voice"`
	Seconds float64  `json:"seconds"`
	Share   float64  `json:"share"`
	Reels   []string `json:"reels"`
	// Named tells that it has a person's name, Compared that it was compared
	// with the voices of the other reels.
	Named    bool `json:"named"`
	Compared bool `json:"compared"`
	// Alike is how sure it is, 0 to 1, that all its reels hold one voice: the
	// least of all pairs. Nil where fewer than two were measured.
	Alike *float64 `json:"alike,omitempty"`
	ticks timecode.Ticks
	known []listen.VoiceMeasure
}

// voiceReel is what is known of the voices of one reel.
type voiceReel struct {
	rec   story.Recording
	turns []story.Turn
	// speakers in order of appearance, and the digest of each one's turns.
	speakers []string
	digests  map[string]string
	// measures by digest; compared tells that there is one for each speaker.
	measures map[string][]byte
	compared bool
}

// voiceReels reads all reels with sound.
func (d *Desk) voiceReels(ctx context.Context) ([]*voiceReel, error) {
	recs, err := d.bank.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	measures, err := d.bank.Measures(ctx)
	if err != nil {
		return nil, err
	}
	var out []*voiceReel
	for _, rec := range recs {
		h, err := d.bank.Heard(ctx, rec.Reel)
		if errors.Is(err, bank.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		r := &voiceReel{rec: rec, turns: h.Turns, digests: map[string]string{}, measures: map[string][]byte{}}
		for _, t := range h.Turns {
			if _, ok := r.digests[t.Speaker]; !ok && t.Speaker != "" {
				r.speakers = append(r.speakers, t.Speaker)
				r.digests[t.Speaker] = story.TurnsDigest(h.Turns, t.Speaker)
			}
		}
		for _, m := range measures {
			if m.Reel == rec.Reel {
				r.measures[m.Turns] = m.Body
			}
		}
		r.compared = len(r.speakers) > 0
		for _, digest := range r.digests {
			if _, ok := r.measures[digest]; !ok {
				r.compared = false
			}
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

// Voices lists the voices of the bank, the most talkative first.
func (d *Desk) Voices(ctx context.Context) ([]Voice, error) {
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return nil, err
	}
	at := map[string]int{}
	out := []Voice{}
	var all timecode.Ticks
	for _, r := range reels {
		for _, talk := range story.TalkShares(r.turns) {
			named := !story.IsMadeUp(talk.Speaker)
			key := strings.ToLower(talk.Speaker)
			if !named && !r.compared {
				key += "\x00" + r.rec.Reel
			}
			i, ok := at[key]
			if !ok {
				i = len(out)
				at[key] = i
				out = append(out, Voice{Voice: talk.Speaker, Named: named, Compared: r.compared})
			}
			m, err := r.measure(talk.Speaker)
			if err != nil {
				return nil, err
			}
			out[i].add(r, talk, m)
			all += talk.Ticks
		}
	}
	for i := range out {
		out[i].Share = float64(out[i].ticks) / float64(max(all, 1))
	}
	slices.SortStableFunc(out, func(a, b Voice) int {
		return cmp.Or(cmp.Compare(b.ticks, a.ticks), cmp.Compare(a.Voice, b.Voice))
	})
	return out, nil
}

// add adds what a voice says in one reel.
func (v *Voice) add(r *voiceReel, talk story.Talk, m listen.VoiceMeasure) {
	v.Reels = append(v.Reels, r.rec.Reel)
	v.ticks += talk.Ticks
	v.Seconds = v.ticks.Seconds()
	v.Compared = v.Compared && r.compared
	if !m.Enough() {
		return
	}
	for _, other := range v.known {
		alike := listen.Alike(m.Apart(other))
		if v.Alike == nil || alike < *v.Alike {
			v.Alike = &alike
		}
	}
	v.known = append(v.known, m)
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

// NameVoice says whose a voice is, in all reels. It tells how many quotes and
// turns that changed, and whether there was a voice of that name: then the two
// are one now.
func (d *Desk) NameVoice(ctx context.Context, who, name string) (from string, n int, merged bool, err error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return "", 0, false, usage("for example 'rushlight voices name 2 Ines'", "a voice needs a name")
	}
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return "", 0, false, err
	}
	from, in, err := voiceNamed(reels, who)
	if err != nil {
		return "", 0, false, err
	}
	for _, r := range reels {
		merged = merged || !strings.EqualFold(from, name) && slices.ContainsFunc(r.speakers, func(s string) bool { return strings.EqualFold(s, name) })
	}
	n, err = d.renameVoice(ctx, fmt.Sprintf("%q is %q", from, name), from, name, in)
	return from, n, merged, err
}

func (d *Desk) renameVoice(ctx context.Context, summary, from, to string, in []*voiceReel) (n int, err error) {
	_, err = d.change(ctx, "voices", summary, func(tx *bank.Tx) error {
		n = 0
		for _, r := range in {
			quotes, turns, err := tx.SetSpeaker(r.rec.Reel, from, to)
			if err != nil {
				return err
			}
			n += quotes + turns
		}
		if strings.EqualFold(from, to) {
			return nil
		}
		return errors.Join(tx.LetTogether(from, to), tx.RenameApart(from, to))
	})
	if err != nil {
		return n, err
	}
	return n, d.freshen(ctx)
}

// MergeVoices makes several voices one, under the name of the first.
func (d *Desk) MergeVoices(ctx context.Context, into string, others []string) (name string, n int, err error) {
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return "", 0, err
	}
	if name, _, err = voiceNamed(reels, into); err != nil {
		return "", 0, err
	}
	for _, other := range others {
		from, in, err := voiceNamed(reels, other)
		if err != nil {
			return name, n, err
		}
		if strings.EqualFold(from, name) {
			return name, n, usage("name two voices", "%q is one voice already", from)
		}
		k, err := d.renameVoice(ctx, fmt.Sprintf("%q is %q", from, name), from, name, in)
		if err != nil {
			return name, n, err
		}
		n += k
	}
	return name, n, nil
}

// SplitVoice makes what a voice says in one reel a voice of its own, called as
// or by the next free number. The two are never joined again by listening.
func (d *Desk) SplitVoice(ctx context.Context, who, reel, as string) (from, to string, n int, err error) {
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return "", "", 0, err
	}
	from, in, err := voiceNamed(reels, who)
	if err != nil {
		return "", "", 0, err
	}
	i := slices.IndexFunc(in, func(r *voiceReel) bool { return strings.EqualFold(r.rec.Reel, reel) })
	if i < 0 {
		return from, "", 0, refuse("'rushlight voices' says in which reels it speaks", "%s doesn't speak in %s", from, reel)
	}
	if len(in) == 1 {
		return from, "", 0, refuse("to give it another name: rushlight voices name", "%s speaks in no other reel than %s", from, in[0].rec.Reel)
	}
	if to = strings.TrimSpace(as); to == "" {
		to = newNumbers(reels).next()
	}
	if strings.EqualFold(to, from) {
		return from, to, 0, usage("give another name", "%q is what it is called already", to)
	}
	_, err = d.change(ctx, "voices", fmt.Sprintf("%q in %s is %q", from, in[i].rec.Reel, to), func(tx *bank.Tx) error {
		quotes, turns, err := tx.SetSpeaker(in[i].rec.Reel, from, to)
		n = quotes + turns
		return errors.Join(err, tx.KeepApart(from, to))
	})
	if err != nil {
		return from, to, n, err
	}
	return from, to, n, d.freshen(ctx)
}

// ForgetVoice removes what a voice is known by, for good, and measures it no
// more. Its name and words stay. It tells how many measures there were.
func (d *Desk) ForgetVoice(ctx context.Context, who string) (name string, n int, err error) {
	reels, err := d.voiceReels(ctx)
	if err != nil {
		return "", 0, err
	}
	name, in, err := voiceNamed(reels, who)
	if err != nil {
		return "", 0, err
	}
	var list []story.VoiceMeasure
	for _, r := range in {
		current := map[string]bool{}
		for s, digest := range r.digests {
			current[digest] = !strings.EqualFold(s, name)
		}
		for digest, body := range r.measures {
			// Measures of turns as they once were may be this person's too.
			if current[digest] {
				continue
			}
			if len(body) > 0 {
				n++
			}
			list = append(list, story.VoiceMeasure{Reel: r.rec.Reel, Turns: digest})
		}
	}
	if !story.IsMadeUp(name) {
		_, err = d.change(ctx, "voices", fmt.Sprintf("the voice of %q isn't measured any more", name), func(tx *bank.Tx) error { return tx.Unmeasure(name) })
		if err != nil {
			return name, n, err
		}
	}
	err = d.bank.ForgetMeasures(ctx, list)
	if errors.Is(err, bank.ErrBusy) {
		err = &Problem{What: "another program has the bank open: traces of the measures may be on the disk still", Hint: "close it there and run this again", Err: err}
	}
	return name, n, err
}

// numbers are the voice numbers that are taken.
type numbers map[string]bool

func newNumbers(reels []*voiceReel) numbers {
	n := numbers{}
	for _, r := range reels {
		for _, s := range r.speakers {
			n[strings.ToLower(s)] = true
		}
	}
	return n
}

// next is the first free name by number; it is taken then.
func (n numbers) next() string {
	for i := 1; ; i++ {
		name := fmt.Sprintf("Voice %d", i)
		if key := strings.ToLower(name); !n[key] {
			n[key] = true
			return name
		}
	}
}
