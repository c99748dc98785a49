package listen

import "math"

// Where a room is restless (chairs, breath, people far off, traffic), its quiet
// passes for soft sound too, and soft sound beside an edge says nothing of the
// voice. Edges laid in the quiet would move by 0.0 to 0.2 steps in stationary noise
// at 30 to 10 dB, by up to 4 in a room of 0.8 s, and by 0.6 to 10 in the meetings of
// TestMeetings. The limit was chosen on the English dialogues and the first six
// meetings; from 1 to 3 it makes no difference there.
const (
	restlessBin    = 1000 // steps judged together, with the bins beside them
	restlessAway   = fadeSteps + riseSteps
	restlessEnough = 50  // steps of quiet needed
	restlessMoves  = 2.0 // steps, in the mean
)

// restless tells for a step whether the quiet near it passes for soft sound: in half
// a minute about it, or in the whole recording where there is too little quiet near.
// Without quiet nothing is restless.
func (m masked) restless(talk []stretch, steps int) func(step int) bool {
	type moves struct{ sum, n int }
	bins := make([]moves, steps/restlessBin+1)
	var all moves
	for _, q := range awayFrom(steps, talk, restlessAway) {
		for s := q.from; s < q.to; s++ {
			b := &bins[s/restlessBin]
			b.sum, b.n = b.sum+m.last(s, steps)-s, b.n+1
		}
	}
	for _, b := range bins {
		all.sum, all.n = all.sum+b.sum, all.n+b.n
	}
	return func(step int) bool {
		var near moves
		at := step / restlessBin
		for _, b := range bins[max(0, at-1):min(len(bins), at+2)] {
			near.sum, near.n = near.sum+b.sum, near.n+b.n
		}
		if near.n < restlessEnough {
			near = all
		}
		return near.n >= restlessEnough && float64(near.sum) > restlessMoves*float64(near.n)
	}
}

// soundTable is for each band the log of how much likelier a level is as soft
// sound, which stands out of the noise in some of the bands, than as noise, by
// how many half decibels it lies over the noise floor, levelRange at 0.
type soundTable [bandCount][2*levelRange + 1]float64

const levelRange = 255

func newSoundTable(spread [bandCount]float64) *soundTable {
	t := &soundTable{}
	for b := range t {
		for i := range t[b] {
			// One step scatters 1/0.61 times as much as three smoothed ones.
			z := min(scoreMost, 0.61*float64(i-levelRange)/spread[b])
			t[b][i] = math.Log(1 - soundShare + soundShare*math.Exp(soundScore*z-soundScore*soundScore/2))
		}
	}
	return t
}
