package themes

// Who asks is told by questions: in an interview one person ends most of
// their sayings in a question mark. What the asker says counts a quarter: a
// word put into somebody's mouth is not yet theirs.

const (
	askerWeight = 0.25
	// askerShare is the least share of questions among the sayings of one
	// who asks, and askerQuestions the least number in a reel; askerLead is
	// how many times more than the next they ask. Chosen on no data.
	askerShare     = 0.3
	askerQuestions = 2
	askerLead      = 1.5
	// echoWeight is what a word counts that the asker said in one of the
	// echoSpan sayings before it: it was taken up, not brought up.
	echoWeight = 0.5
	echoSpan   = 3
)

// findAskers sets who asks in each reel.
func (c *corpus) findAskers(told func(reel string) string) {
	if told != nil {
		for i := range c.reels {
			if n, ok := c.speakers.at[told(c.reels[i].name)]; ok && c.speakers.names[n] != "" {
				c.reels[i].asker = n
			}
		}
		return
	}
	type talk struct{ sayings, questions float64 }
	talks := make([]map[int32]*talk, len(c.reels))
	for _, q := range c.quotes {
		if talks[q.reel] == nil {
			talks[q.reel] = map[int32]*talk{}
		}
		t := talks[q.reel][q.speaker]
		if t == nil {
			t = &talk{}
			talks[q.reel][q.speaker] = t
		}
		t.sayings++
		if q.asks {
			t.questions++
		}
	}
	for i, reel := range talks {
		best, next, who := 0.0, 0.0, int32(-1)
		for s, t := range reel {
			share := t.questions / t.sayings
			if c.speakers.names[s] == "" || t.questions < askerQuestions {
				share = 0
			}
			switch {
			case share > best || share == best && who >= 0 && s < who:
				best, next, who = share, best, s
			case share > next:
				next = share
			}
		}
		if best >= askerShare && best >= askerLead*next && len(reel) > 1 {
			c.reels[i].asker = who
		}
	}
}

// weight is how much what is said in a quote counts.
func (c *corpus) weight(q quote) float64 {
	if c.reels[q.reel].asker == q.speaker {
		return askerWeight
	}
	return 1
}

// saidAt is a place in a reel; the zero value is none.
type saidAt struct {
	reel, order int32
	known       bool
}

// echo weighs one occurrence of a term that would count w by its speaker, and
// remembers where the asker said it. Quotes must come in order.
func (t *term) echo(q quote, w float64) float64 {
	if w != 1 {
		t.asked = saidAt{q.reel, q.order, true}
		return w
	}
	since := q.order - t.asked.order
	if t.asked.known && t.asked.reel == q.reel && since > 0 && since <= echoSpan {
		return echoWeight
	}
	return 1
}
