package listen

import (
	"math"
)

// Measured is what EBU R 128 asks of a programme. What has no value, because
// nothing passes a gate or the sound is too short, is −Inf; RangeLU is 0 then.
type Measured struct {
	// IntegratedLUFS is the gated loudness (BS.1770-5 annex 1); it needs
	// 400 ms of sound.
	IntegratedLUFS float64
	// MomentaryMaxLUFS and ShortTermMaxLUFS are the highest loudness of any
	// 400 ms and any 3 s, looked at each 10 ms (EBU Tech 3341 clause 2.2).
	MomentaryMaxLUFS, ShortTermMaxLUFS float64
	// RangeLU is the loudness range (EBU Tech 3342).
	RangeLU float64
	// TruePeakDBTP is the highest value between the samples too (BS.1770-5
	// annex 2), of all channels, whatever their weight.
	TruePeakDBTP float64
}

const (
	meterMomentary = 40  // steps of 10 ms in 400 ms
	meterShort     = 300 // and in 3 s
	meterHop       = 10  // steps between gating blocks (75 % overlap)
	meterLoudest   = 1e4 // linear; whatever lies beyond is no sound
)

// meterSteps turns samples into K-weighted energies and peaks of 10 ms steps.
type meterSteps struct {
	rate   int64
	tracks []meterTrack
	frames int64 // taken on each channel
	step   int64
	starts int64 // first sample of the present step
	ends   int64 // sample at which it is over

	// The last 3 s: weighted energy and number of samples of each step, at
	// step modulo meterShort.
	energy [meterShort]float64
	length [meterShort]int64
	// peak is the highest value of the last closed step.
	peak float64
}

// meterTrack is one channel of a meter.
type meterTrack struct {
	k       kWeight
	weight  float64
	sum     float64 // K-weighted squares of the present step
	highest float64 // true peak of the present step
	peak    truePeak
}

func newMeterSteps(rate, channels int, mask uint32) meterSteps {
	s := meterSteps{rate: int64(max(1, rate)), tracks: make([]meterTrack, max(0, channels))}
	weights := channelWeights(mask, len(s.tracks))
	for c := range s.tracks {
		s.tracks[c] = meterTrack{k: newKWeight(int(s.rate)), weight: weights[c]}
	}
	s.ends = s.endOf(0)
	return s
}

func (s *meterSteps) endOf(step int64) int64 { return ((step+1)*s.rate + 99) / 100 }

// meterSink is what measured steps go to. A peak that isn't above known is of
// no interest to it.
type meterSink interface {
	known() float64
	take(s *meterSteps)
}

// feed takes samples and gives each whole step to the sink.
func (s *meterSteps) feed(samples [][]float64, sink meterSink) {
	if len(samples) < len(s.tracks) || len(s.tracks) == 0 {
		return
	}
	n := len(samples[0])
	for c := range s.tracks {
		n = min(n, len(samples[c]))
	}
	known := sink.known()
	for at := 0; at < n; {
		end := min(n, at+int(s.ends-s.frames))
		for c := range s.tracks {
			t := &s.tracks[c]
			t.weigh(samples[c][at:end])
			t.highest = t.peak.feed(samples[c][at:end], math.Max(known, t.highest), t.highest)
		}
		s.frames += int64(end - at)
		at = end
		for s.frames >= s.ends {
			s.close()
			sink.take(s)
			known = sink.known()
		}
	}
}

// close ends the present step.
func (s *meterSteps) close() {
	i := s.step % meterShort
	s.energy[i], s.peak = 0, 0
	for c := range s.tracks {
		t := &s.tracks[c]
		s.energy[i] += t.weight * t.sum
		s.peak = math.Max(s.peak, t.highest)
		t.sum, t.highest = 0, 0
		t.k.settle()
	}
	s.length[i] = s.frames - s.starts
	s.starts = s.frames
	s.step++
	s.ends = s.endOf(s.step)
}

// mean is the mean weighted energy of the last n steps.
func (s *meterSteps) mean(n int64) float64 {
	var sum float64
	var frames int64
	for j := s.step - n; j < s.step; j++ {
		sum += s.energy[j%meterShort]
		frames += s.length[j%meterShort]
	}
	if frames == 0 {
		return 0
	}
	return sum / float64(frames)
}

// rest is the peak of what came after the last whole step, with the tail that
// the interpolation still holds back.
func (s *meterSteps) rest() float64 {
	var top float64
	for c := range s.tracks {
		t := s.tracks[c]
		top = math.Max(top, t.peak.tail(t.highest))
	}
	return top
}

// weigh adds K-weighted squares.
func (t *meterTrack) weigh(x []float64) {
	k, sum := t.k, t.sum
	for _, v := range x {
		if !(math.Abs(v) <= meterLoudest) {
			v = 0
		}
		y := k.b0*v + k.z1
		k.z1 = k.b1*v - k.a1*y + k.z2
		k.z2 = k.b2*v - k.a2*y
		u := y + k.w1
		k.w1 = k.w2 - 2*y - k.c1*u
		k.w2 = y - k.c2*u
		sum += u * u
	}
	t.k, t.sum = k, sum
}
