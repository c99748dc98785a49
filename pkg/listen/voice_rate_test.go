package listen

import "testing"

// TestVoiceAtAnyRate: a header may say any sample rate, also one at which no
// voice can be heard; hearing it must not fail.
func TestVoiceAtAnyRate(t *testing.T) {
	rates := []float64{2000, 4000, 8000, 11025, 16000, 44100, 48000, 96000, 192000}
	for hz := 1.0; hz < 1000; hz++ {
		rates = append(rates, hz)
	}
	for _, hz := range rates {
		v := newVoice(hz)
		for i := range v.pow {
			v.pow[i] = 1
		}
		v.addCepstrum()
	}
}
