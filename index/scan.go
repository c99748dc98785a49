package index

// scan reads the scores of a leaf of which only one term was said: how often
// it stands in each of its documents and how long they are, which is all that
// a score is made of. Which document it is matters for few of them.
func (s *look) scan(p *piece) error {
	s.at, s.only = -1, p
	scorer, exact := s.e.scorer(p.leaf.df), uint32(0)
	if p.said[0] == p.leaf.exact {
		exact = 1
	}
	of := func(tf, length uint32) float32 { return scorer.ofWord(tf*exact, tf*(1-exact), length) }
	var usual [knownForms][knownLengths]float32
	for tf := range usual {
		for length := range usual[tf] {
			usual[tf][length] = of(uint32(tf), uint32(length))
		}
	}
	numbers, docs := numbering{set: p.all}, numbering{set: p.all}
	m, next := 0, -1 // of several, and its number in the list
	several := func() {
		for next = -1; m < len(s.several) && next < 0; m++ {
			if p.docs.has(s.several[m]) {
				next = numbers.of(s.several[m])
			}
		}
	}
	several()
	number, least := 0, s.best.least()
	var poor poorFreqs
	for i := range s.e.i.lists {
		freqs, count, err := s.e.i.lists[i].freqs(p.leaf.field, p.said[0])
		if err != nil {
			return err
		}
		for end := number + count; ; number++ {
			poor.under(least, &usual)
			until := end
			if next >= 0 {
				until = min(end, next)
			}
			n := poor.leading(freqs, until-number)
			if number, freqs = number+n, freqs[2*n:]; number == end {
				break
			}
			var score float32
			if len(freqs) >= 2 && freqs[0] > 1 && freqs[0] < 2*knownForms && freqs[1] < knownLengths { // nearly always
				score, freqs = usual[freqs[0]>>1][freqs[1]], freqs[2:]
			} else {
				var tf, length uint32
				if tf, length, freqs, err = readFreq(freqs); err != nil {
					return err
				}
				score = of(tf, length)
			}
			switch {
			case number == next:
				p.scores[m-1] = score
				several()
			case score >= least:
				if s.doc = docs.doc(number); s.root.docs.has(s.doc) {
					s.score = score
					s.offer()
					least = s.best.least()
				}
			}
		}
	}
	return nil
}

// poorFreqs is for each count of a term, as far as known, the length of a
// document from which on it is not among the best.
type poorFreqs struct {
	set  bool
	from [knownForms]uint8
}

// under notes what has a score under least, which never falls.
func (p *poorFreqs) under(least float32, scores *[knownForms][knownLengths]float32) {
	if !p.set {
		p.set = true
		for tf := range p.from {
			p.from[tf] = knownLengths
		}
	}
	for tf := 1; tf < knownForms; tf++ { // a count of 0 is damage
		for p.from[tf] > 0 && scores[tf][p.from[tf]-1] < least {
			p.from[tf]--
		}
	}
}

// leading is how many of the first frequencies, most at most, are surely not
// among the best; they take two bytes each.
func (p *poorFreqs) leading(freqs []byte, most int) (n int) {
	for ; n < most && len(freqs) >= 2; n++ {
		f := freqs[:2]
		if f[0] >= 2*knownForms || f[1] >= knownLengths || f[1] < p.from[f[0]>>1] {
			break
		}
		freqs = freqs[2:]
	}
	return n
}
