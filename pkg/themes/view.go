package themes

import "slices"

// view divides all talk into groups: reels, days, speakers, or what was before
// and in the last days of the shoot.
type view struct {
	by    string
	names []string
	words []float64 // by group; what an asker says counts less, but in bySpeaker
	total float64
	group []int32 // of a reel; nil by speaker
	last  []bool  // by late: reels of the very last day
}

// share is how much of a term one group says.
type share struct {
	group   int32
	weighed float64
	sayings int32
}

// byReel, byDay, bySpeaker and byLate make views.
func (c *corpus) byReel() *view {
	v := &view{by: ByReel, group: make([]int32, len(c.reels))}
	for i, r := range c.reels {
		v.names = append(v.names, r.name)
		v.group[i] = int32(i)
	}
	return c.measure(v)
}

func (c *corpus) byDay() *view {
	v := &view{by: ByDay, group: make([]int32, len(c.reels))}
	for _, r := range c.byTime {
		day := c.reels[r].day
		at := slices.Index(v.names, day)
		if at < 0 {
			at = len(v.names)
			v.names = append(v.names, day)
		}
		v.group[r] = int32(at)
	}
	return c.measure(v)
}

func (c *corpus) bySpeaker() *view {
	v := &view{by: BySpeaker, names: c.speakers.names}
	v.words = make([]float64, len(v.names))
	for _, q := range c.quotes {
		v.words[q.speaker] += float64(q.end - q.start)
	}
	v.total = sum(v.words)
	return v
}

// measure counts the words of each group.
func (c *corpus) measure(v *view) *view {
	v.words = make([]float64, len(v.names))
	for _, q := range c.quotes {
		v.words[v.group[q.reel]] += c.weight(q) * float64(q.end-q.start)
	}
	v.total = sum(v.words)
	return v
}

// shares lists who says how much of a term, in buf.
func (v *view) shares(t *term, buf []share) []share {
	buf = buf[:0]
	if v.group == nil {
		for _, s := range t.voices {
			buf = append(buf, share{s.speaker, float64(s.n), s.sayings})
		}
		return buf
	}
	highest := int32(-1) // groups are numbered in the order of shooting, as reels are
	for _, in := range t.inReels {
		g, at := v.group[in.reel], -1
		if g > highest {
			highest = g
		} else {
			at = slices.IndexFunc(buf, func(s share) bool { return s.group == g })
		}
		if at < 0 {
			buf = append(buf, share{g, in.weighed, in.sayings})
			continue
		}
		buf[at].weighed += in.weighed
		buf[at].sayings += in.sayings
	}
	return buf
}

// several tells that there is something to compare.
func (v *view) several() bool {
	n := 0
	for _, w := range v.words {
		if w > 0 {
			n++
		}
	}
	return n > 1
}

// contrast compares the group that a term is most typical of, or the target,
// with all the others; nil if it isn't said there or there are no others.
func (v *view) contrast(shares []share, target int32) *Contrast {
	all := 0.0
	for _, s := range shares {
		all += s.weighed
	}
	var best *Contrast
	for _, s := range shares {
		if target >= 0 && s.group != target {
			continue
		}
		n := v.words[s.group]
		g := Keyness(s.weighed, n, all-s.weighed, v.total-n)
		if best == nil || g > best.G2 {
			best = &Contrast{v.names[s.group], g, LogRatio(s.weighed, n, all-s.weighed, v.total-n)}
		}
	}
	return best
}

// stretches is in how many stretches of one reel a term is said: of the reel
// that says it in most, among those of the target if that is a group of reels.
// So what fills one interview counts no less than what fills them all.
func (v *view) stretches(t *term, target int32) int8 {
	most := int8(1)
	for _, in := range t.inReels {
		if target < 0 || v.group == nil || v.group[in.reel] == target {
			most = max(most, in.stretches)
		}
	}
	return most
}

// opening is after what share of a reel a term is said first by somebody who
// answers, 0 to 1: the mean over its sayings in all reels, or in those of the
// target if that is a group of reels. A reel where only the asker says it
// counts as 1.
func (c *corpus) opening(t *term, v *view, target int32) float64 {
	place, all := 0.0, 0.0
	for _, in := range t.inReels {
		if target >= 0 && v.group != nil && v.group[in.reel] != target {
			continue
		}
		all += in.weighed
		if in.opened < 0 {
			place += in.weighed
		} else {
			place += in.weighed * float64(in.opened) / c.reels[in.reel].words
		}
	}
	return place / all
}

// holds gives the group of a quote.
func (v *view) holds(q quote) int32 {
	if v.group == nil {
		return q.speaker
	}
	return v.group[q.reel]
}

// said lists the terms that each group says.
func (v *view) said(terms []*term) [][]*term {
	by := make([][]*term, len(v.names))
	var buf []share
	for _, t := range terms {
		buf = v.shares(t, buf)
		for _, s := range buf {
			by[s.group] = append(by[s.group], t)
		}
	}
	return by
}
