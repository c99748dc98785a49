package themes

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// phrasesMost bounds the phrases listed under a term.
const phrasesMost = 5

// describe puts a ranked term in the form that others read.
func (c *corpus) describe(r *ranked, h *heard, l list, late *view) Candidate {
	t := r.term
	first := c.quotes[t.first]
	reel := c.reels[first.reel]
	family := c.formsOf(t)
	d := Candidate{
		Recurring: story.Recurring{
			Term: family[0].Text, Count: t.count, Keyness: r.keyness,
			Dispersion: DPNorm(t.perReel(len(c.reels)), c.reelWords()),
			First:      first.code, Quotes: c.best(h, l.view, l.target),
			Reels: []string{}, Speakers: c.speakersOf(t),
		},
		Score: r.score, Here: c.here(t, l), Family: family, Sayings: t.sayings,
		FirstSaid: First{
			Code: first.code, Reel: reel.name, Day: reel.day, Speaker: c.speakers.names[first.speaker],
			At: first.in, Clock: reel.clock,
		},
		Everyday: r.everyday, Others: r.others,
		Burst: h.burst,
		Why:   c.why(r, l),
	}
	switch reel.asker {
	case -1:
	case first.speaker:
		d.FirstSaid.By, d.FirstSaid.Asker = ByAsker, true
	default:
		d.FirstSaid.By = ByAnswerer
	}
	for _, f := range family[:min(len(family), formsMost)] {
		d.Forms = append(d.Forms, f.Text)
	}
	for _, p := range r.phrases[:min(len(r.phrases), phrasesMost)] {
		d.Phrases = append(d.Phrases, Form{c.name(p.term), p.count})
	}
	if len(t.families) > 1 {
		for _, f := range t.families {
			if fam := c.families[f]; !fam.stop {
				d.Words = append(d.Words, Form{c.name(&term{families: []int32{f}}), int(fam.count)})
			}
		}
	}
	d.Related = c.relatedTo(t)
	for _, v := range t.voices {
		d.Asked += int(v.asked)
		d.Answered += int(v.n - v.asked)
	}
	for _, at := range c.byTime {
		in := InReel{Reel: c.reels[at].name}
		if said := t.at(at); said != nil {
			d.Reels = append(d.Reels, in.Reel)
			in.Count = int(said.n)
			in.PerThousand = 1000 * said.n / c.reels[at].words
		}
		d.PerReel = append(d.PerReel, in)
	}
	if late != nil {
		_, d.Late = late.emerged(t, late.shares(t, nil))
	}
	return d
}

// relatedLeast is how often a word of like meaning must be said to be shown.
const relatedLeast = 2

// relatedTo lists the words of like meaning that are said beside a word, most
// first. They are shown, never counted together: like meaning in a thesaurus
// needn't be the same thing in the talk.
func (c *corpus) relatedTo(t *term) []Form {
	own := t.families[0]
	l := c.families[own].lang
	if c.related == nil || len(t.families) > 1 {
		return nil
	}
	var out []Form
	seen := map[int32]bool{own: true}
	for _, form := range c.formsOf(t) {
		for _, word := range c.related(l.name, form.Text) {
			f, said := l.families[l.stem(word)]
			if !said {
				continue
			}
			f = c.root(f)
			if seen[f] || c.families[f].stop || c.families[f].count < relatedLeast {
				continue
			}
			seen[f] = true
			out = append(out, Form{c.name(&term{families: []int32{f}}), int(c.families[f].count)})
		}
	}
	slices.SortStableFunc(out, func(a, b Form) int { return cmp.Compare(b.Count, a.Count) })
	return out
}

// here is how often what a list is about says a term.
func (c *corpus) here(t *term, l list) int {
	n := 0
	switch {
	case l.target < 0:
		return t.count
	case l.view.group == nil:
		for _, v := range t.voices {
			if v.speaker == l.target {
				n += int(v.n)
			}
		}
	default:
		for _, in := range t.inReels {
			if l.view.group[in.reel] == l.target {
				n += int(in.n)
			}
		}
	}
	return n
}

// speakersOf names who says a term, most first.
func (c *corpus) speakersOf(t *term) []string {
	voices := slices.Clone(t.voices)
	slices.SortFunc(voices, func(a, b voice) int {
		return cmp.Or(cmp.Compare(b.n, a.n), strings.Compare(c.speakers.names[a.speaker], c.speakers.names[b.speaker]))
	})
	names := []string{}
	for _, v := range voices {
		if name := c.speakers.names[v.speaker]; name != "" {
			names = append(names, name)
		}
	}
	return names
}

// why puts the parts of a rank in words.
func (c *corpus) why(r *ranked, l list) []Part {
	t := r.term
	notes := [partsCount]struct{ name, note string }{
		partKeyness:   {"keyness", keynessNote(r)},
		partOthers:    {"typical", othersNote(r)},
		partSayings:   {"sayings", fmt.Sprintf("in %d quotes", r.sayings)},
		partSpread:    {"spread", fmt.Sprintf("in %d of %d stretches of the reel that says it most evenly", l.view.stretches(t, l.target), stretchesOfReel)},
		partOpening:   {"opening", fmt.Sprintf("on average a reel is %.0f %% through when somebody who answers says it first", 100*c.opening(t, l.view, l.target))},
		partLed:       {"thing", fmt.Sprintf("%d of %d times with an article or the like before it", t.led, t.count)},
		partVoices:    {"voices", fmt.Sprintf("said by %d who answer", r.answering())},
		partForms:     {"forms", fmt.Sprintf("a word of %d forms", c.families[t.families[0]].inflections())},
		partPhrase:    {"phrase", fmt.Sprintf("a phrase that belongs together (G² %.1f)", r.bond)},
		partTheirs:    {"theirs", "what the asker says, or has just said, counts less"},
		partReels:     {"reels", fmt.Sprintf("in %d reels", len(r.inReels))},
		partGrowth:    {"growth", growthNote(r.parts[partGrowth])},
		partOnlyLate:  {"late", "how little of it came before the last days of the shoot"},
		partDense:     {"dense", "how much denser it comes where it comes densest"},
		partStandsFor: {"place", "has the place of a word or phrase that it mostly holds"},
	}
	var out []Part
	for i, f := range r.parts {
		if f != 1 || i == partKeyness {
			out = append(out, Part{notes[i].name, f, notes[i].note})
		}
	}
	return out
}

func keynessNote(r *ranked) string {
	if r.everyday == nil {
		return "no list of everyday language: by contrast inside the talk"
	}
	return fmt.Sprintf("%.1f doublings more than in everyday talk (G² %.1f)", r.everyday.LogRatio, r.everyday.G2)
}

func othersNote(r *ranked) string {
	if r.others == nil {
		return ""
	}
	return fmt.Sprintf("most typical of %s (G² %.1f)", r.others.Where, r.others.G2)
}

func growthNote(factor float64) string {
	doublings := (factor - 1) / growthPerDouble
	if doublings < 0 {
		return fmt.Sprintf("%.1f doublings less in the second half of the shoot than in the first", -doublings)
	}
	return fmt.Sprintf("%.1f doublings more in the second half of the shoot than in the first", doublings)
}
