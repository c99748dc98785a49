package quotes

import (
	"math"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// How sure an edge is by how it was found, where its quote is as long as its
// words ask for; chosen, not from a paper.
const (
	sureWords = 1.0
	surePause = 0.9
	sureShare = 0.5
	sureGuess = 0.3
	// paceLeast is how many quotes tell how fast somebody speaks.
	paceLeast = 5
)

// SureEnough is the confidence below which a person should listen.
const SureEnough = 0.5

// Confidence says for each quote of a reel how sure its in and out are, 0 to 1:
// by how its times were found, and by how far the speech between them is from
// what its words take its speaker to say. It is a rank, not a share of quotes
// that are right. heard may be nil.
func Confidence(list []story.Quote, heard *story.Heard) []float64 {
	out := make([]float64, len(list))
	said := make([]float64, len(list))
	var speech []timecode.Span
	if heard != nil {
		speech = heard.Speech
	}
	for i, q := range list {
		out[i] = min(sureBy(q.InBy), sureBy(q.OutBy))
		said[i] = speechIn(speech, q.Span).Seconds()
	}
	if len(speech) == 0 {
		return out
	}
	pace := paces(list, said)
	for i, q := range list {
		p, ok := pace[q.Speaker]
		if !ok {
			p, ok = pace[""]
		}
		if q.InBy == story.FromWords && q.OutBy == story.FromWords || !ok {
			continue
		}
		want := p * weigh(q.Text)
		off := (said[i] - want) / (spreadShare*want + spreadSeconds)
		out[i] *= math.Exp(-off * off / 4)
	}
	return out
}

func sureBy(p story.Precision) float64 {
	switch p {
	case story.FromWords:
		return sureWords
	case story.FromPause:
		return surePause
	case story.FromShare:
		return sureShare
	}
	return sureGuess
}

// paces is the middle time in seconds that a unit of weigh takes each speaker,
// under "" that of all.
func paces(list []story.Quote, said []float64) map[string]float64 {
	each := map[string][]float64{}
	for i, q := range list {
		if w := weigh(q.Text); w > 2 && said[i] > 0 {
			each[""] = append(each[""], said[i]/w)
			if q.Speaker != "" {
				each[q.Speaker] = append(each[q.Speaker], said[i]/w)
			}
		}
	}
	out := map[string]float64{}
	for who, v := range each {
		if len(v) >= paceLeast {
			slices.Sort(v)
			out[who] = v[len(v)/2]
		}
	}
	return out
}

// speechIn is how much speech lies in a span.
func speechIn(speech []timecode.Span, s timecode.Span) (sum timecode.Ticks) {
	i, _ := slices.BinarySearchFunc(speech, s.In, func(p timecode.Span, at timecode.Ticks) int {
		if p.Out <= at {
			return -1
		}
		return 1
	})
	for ; i < len(speech) && speech[i].In < s.Out; i++ {
		sum += speech[i].Intersect(s).Length()
	}
	return sum
}
