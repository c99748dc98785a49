package review

import (
	"cmp"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Asking is one person's part in asking, in one reel.
type Asking struct {
	Reel    string `json:"reel"`
	Speaker string `json:"speaker"`
	// Sayings and Questions count; the others count among the questions.
	Sayings     int `json:"sayings"`
	Questions   int `json:"questions"`
	Closed      int `json:"closed"`
	Open        int `json:"open"`
	Choice      int `json:"choice"`
	Declarative int `json:"declarative"`
	Tag         int `json:"tag"`
	Leading     int `json:"leading"`
	// QuestionShare is the part of their own sayings that ask, OfAll the part
	// of the reel's questions that are theirs, TalkShare the part of the
	// reel's talk, by the length of their quotes; all 0 to 1.
	QuestionShare float64 `json:"question_share"`
	OfAll         float64 `json:"of_all_questions"`
	TalkShare     float64 `json:"talk_share"`
	// Asks tells that this is who leads the talk.
	Asks bool `json:"asks"`
}

// Who asks is told by three things: how much of what they say asks, how many
// of the reel's questions are theirs, and, a little, that they talk less. In
// the 36 telephone conversations, where nobody leads, the most a person's
// score gets is in TestNobodyAsks. Common practice, no source.
const (
	// askedLeast is the least number of questions of one who asks.
	askedLeast = 2
	// shareLeast is the least part of their sayings that ask.
	shareLeast = 0.25
	// ofAllLeast is the least part of all questions of the reel.
	ofAllLeast = 0.6
)

// AskingOf counts for each reel and speaker, in order of first appearance.
// Quotes without a speaker count as one person without a name, who never
// leads.
func AskingOf(quotes []story.Quote) []Asking {
	type key struct{ reel, speaker string }
	at := map[key]int{}
	var out []Asking
	talk := map[key]timecode.Ticks{}
	for _, q := range quotes {
		k := key{q.Reel, q.Speaker}
		if _, ok := at[k]; !ok {
			at[k] = len(out)
			out = append(out, Asking{Reel: q.Reel, Speaker: q.Speaker})
		}
		out[at[k]].Sayings++
		talk[k] += max(q.Length(), 0)
	}
	for _, q := range Questions(quotes) {
		out[at[key{q.Quote.Reel, q.Quote.Speaker}]].add(q)
	}
	asked, talked := map[string]int{}, map[string]timecode.Ticks{}
	for _, a := range out {
		asked[a.Reel] += a.Questions
		talked[a.Reel] += talk[key{a.Reel, a.Speaker}]
	}
	people := map[string][]int{}
	for i := range out {
		a := &out[i]
		a.QuestionShare = float64(a.Questions) / float64(a.Sayings)
		if n := asked[a.Reel]; n > 0 {
			a.OfAll = float64(a.Questions) / float64(n)
		}
		if t := talked[a.Reel]; t > 0 {
			a.TalkShare = float64(talk[key{a.Reel, a.Speaker}]) / float64(t)
		}
		people[a.Reel] = append(people[a.Reel], i)
	}
	for _, who := range people {
		markAsker(out, who)
	}
	return out
}

// add counts one question.
func (a *Asking) add(q Question) {
	a.Questions++
	switch q.Kind {
	case Closed:
		a.Closed++
	case Open:
		a.Open++
	case Choice:
		a.Choice++
	case Declarative:
		a.Declarative++
	case Tag:
		a.Tag++
	}
	if q.Leading {
		a.Leading++
	}
}

// markAsker sets Asks for one person of a reel, or nobody; who are their
// places in all.
func markAsker(all []Asking, who []int) {
	if len(who) < 2 {
		return
	}
	best := slices.MaxFunc(who, func(i, j int) int {
		return cmp.Or(cmp.Compare(all[i].lead(), all[j].lead()), cmp.Compare(j, i))
	})
	a := &all[best]
	a.Asks = a.Speaker != "" && a.Questions >= askedLeast && a.QuestionShare >= shareLeast && a.OfAll >= ofAllLeast
}

// lead is how much somebody leads a talk by asking.
func (a Asking) lead() float64 {
	return a.QuestionShare + a.OfAll + 0.2*(1-a.TalkShare)
}

// Askers is who asks in each reel; a reel in which nobody clearly does is not
// in it. Quotes of one reel stand together and in order.
func Askers(quotes []story.Quote) map[string]string {
	out := map[string]string{}
	for _, a := range AskingOf(quotes) {
		if a.Asks {
			out[a.Reel] = a.Speaker
		}
	}
	return out
}
