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

// NameVoice says whose a voice is, in all reels. It tells how many quotes and
// turns that changed, and whether there was a voice of that name: then the two
// are one now.
func (d *Desk) NameVoice(ctx context.Context, who, name string) (from string, n int, merged bool, err error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return "", 0, false, usage("for example 'rushlight voices name 2 Ines'", "a voice needs a name")
	}
	_, err = d.change(ctx, "voices", "", func(tx *bank.Tx) error {
		reels, found, in, err := d.voice(ctx, who)
		if from = found; err != nil {
			return err
		}
		merged = !strings.EqualFold(from, name) && slices.ContainsFunc(reels, func(r *voiceReel) bool { return r.speaks(name) })
		tx.SetSummary(fmt.Sprintf("%q is %q", from, name))
		n, err = renameVoice(tx, from, name, in)
		return err
	})
	if err != nil {
		return from, 0, false, err
	}
	return from, n, merged, d.freshen(ctx)
}

// renameVoice gives a voice another name in the reels in which it speaks. It
// tells how many quotes and turns that changed.
func renameVoice(tx *bank.Tx, from, to string, in []*voiceReel) (n int, err error) {
	for _, r := range in {
		quotes, turns, err := tx.SetSpeaker(r.rec.Reel, from, to)
		if err != nil {
			return n, err
		}
		n += quotes + turns
	}
	return n, tx.RenameVoice(from, to)
}

// MergeVoices makes several voices one, under the name of the first.
func (d *Desk) MergeVoices(ctx context.Context, into string, others []string) (name string, n int, err error) {
	_, err = d.change(ctx, "voices", "", func(tx *bank.Tx) error {
		reels, err := d.voiceReels(ctx)
		if err != nil {
			return err
		}
		if name, _, err = voiceNamed(reels, into); err != nil {
			return err
		}
		from, in := []string{}, [][]*voiceReel{}
		for _, other := range others {
			f, r, err := voiceNamed(reels, other)
			if err != nil {
				return err
			}
			if strings.EqualFold(f, name) {
				return usage("name two voices", "%q is one voice already", f)
			}
			from, in = append(from, f), append(in, r)
		}
		for i, f := range from {
			k, err := renameVoice(tx, f, name, in[i])
			if err != nil {
				return err
			}
			n += k
		}
		tx.SetSummary(fmt.Sprintf("%s %s %q", quoted(from), isOrAre(len(from)), name))
		return nil
	})
	if err != nil {
		return name, 0, err
	}
	return name, n, d.freshen(ctx)
}

// quoted lists names in quotation marks.
func quoted(names []string) string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = strconv.Quote(n)
	}
	return joinAnd(out)
}

func isOrAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// SplitVoice makes what a voice says in one reel a voice of its own, called as
// or by the next free number. The two are never joined again by listening.
func (d *Desk) SplitVoice(ctx context.Context, who, reel, as string) (from, to string, n int, err error) {
	_, err = d.change(ctx, "voices", "", func(tx *bank.Tx) error {
		reels, found, in, err := d.voice(ctx, who)
		if from = found; err != nil {
			return err
		}
		i := slices.IndexFunc(in, func(r *voiceReel) bool { return strings.EqualFold(r.rec.Reel, reel) })
		if i < 0 {
			return refuse("'rushlight voices' says in which reels it speaks", "%s doesn't speak in %s", from, reel)
		}
		if len(in) == 1 {
			return refuse("to give it another name: rushlight voices name", "%s speaks in no other reel than %s", from, in[0].rec.Reel)
		}
		if to = strings.TrimSpace(as); to == "" {
			to = newNumbers(reels).next()
		}
		if strings.EqualFold(to, from) {
			return usage("give another name", "%q is what it is called already", to)
		}
		quotes, turns, err := tx.SetSpeaker(in[i].rec.Reel, from, to)
		if err != nil {
			return err
		}
		n = quotes + turns
		tx.SetSummary(fmt.Sprintf("%q in %s is %q", from, in[i].rec.Reel, to))
		return tx.KeepApart(from, to)
	})
	if err != nil {
		return from, to, 0, err
	}
	return from, to, n, d.freshen(ctx)
}

// ForgetVoice removes what a voice is known by, for good, and measures it no
// more. Its name and words stay. It tells how many measures there were.
func (d *Desk) ForgetVoice(ctx context.Context, who string) (name string, n int, err error) {
	_, err = d.change(ctx, "voices", "", func(tx *bank.Tx) error {
		_, found, in, err := d.voice(ctx, who)
		if name = found; err != nil {
			return err
		}
		var list []story.VoiceMeasure
		for _, r := range in {
			for digest, body := range r.measures {
				// Measures of turns as they once were may be this person's too.
				if r.isOthers(digest, name) {
					continue
				}
				if len(body) > 0 {
					n++
				}
				list = append(list, story.VoiceMeasure{Reel: r.rec.Reel, Turns: digest})
			}
		}
		if err := tx.ForgetMeasures(list); err != nil || story.IsMadeUp(name) {
			return err
		}
		tx.SetSummary(fmt.Sprintf("the voice of %q isn't measured any more", name))
		return tx.Unmeasure(name)
	})
	if err != nil {
		return name, 0, err
	}
	err = d.bank.ScrubMeasures(ctx)
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
