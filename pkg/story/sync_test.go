package story

import (
	"encoding/json"
	"errors"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

func aSync() Sync {
	return Sync{
		Picture: "D2-CAM", Sound: "D2-INT2", Offset: -timecode.FromMillis(7480), DriftPPB: 38_500, Confidence: 912,
		By: SyncBySound, HasTimecode: true, Disagreement: timecode.FromMillis(-120),
	}
}

// Known by calculation: the camera starts 7.48 s earlier and gains 38.5 parts
// per million, so the moment 1000 s into the sound is 1007.48 s by an exact
// clock and 38.78798 ms more on the camera's.
func TestSyncPlaces(t *testing.T) {
	s := aSync()
	const at = 1000 * timecode.Second
	want := timecode.FromMillis(1_007_480) + timecode.Ticks(27_368_799) // 0.03878798 s · 705,600,000 = 27,368,798.688
	if got := s.ToPicture(at); got != want {
		t.Errorf("got %d, want %d", got, want)
	}
	if got := s.ToSound(want); got != at {
		t.Errorf("got %d, want %d", got, at)
	}
	if got := s.ToPicture(s.Offset); got != 0 {
		t.Errorf("got %d at the offset, want 0", got)
	}
}

// Both ways are exact but for one rounding: held against whole numbers of any
// size (math/big), and there and back is at most one tick away.
func TestSyncExact(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		const day = 24 * timecode.Hour
		s := Sync{
			Offset:   timecode.Ticks(rapid.Int64Range(-int64(day), int64(day)).Draw(r, "offset")),
			DriftPPB: rapid.Int64Range(-maxDriftPPB, maxDriftPPB).Draw(r, "drift"),
		}
		at := timecode.Ticks(rapid.Int64Range(-int64(10*day), int64(10*day)).Draw(r, "at"))
		near := func(got timecode.Ticks, v, num, den int64) {
			// |got·den − v·num| is at most half of den.
			off := new(big.Int).Mul(big.NewInt(int64(got)), big.NewInt(den))
			off.Sub(off, new(big.Int).Mul(big.NewInt(v), big.NewInt(num)))
			if off.Abs(off).Lsh(off, 1).Cmp(big.NewInt(den)) > 0 {
				r.Fatalf("got %d for %d·%d/%d", got, v, num, den)
			}
		}
		near(s.ToPicture(at), int64(at-s.Offset), billion+s.DriftPPB, billion)
		near(s.ToSound(at)-s.Offset, int64(at), billion, billion+s.DriftPPB)
		if d := s.ToSound(s.ToPicture(at)) - at; d < -1 || d > 1 {
			r.Fatalf("got %d ticks away after there and back", d)
		}
	})
}

func TestSyncForm(t *testing.T) {
	bare := Sync{Picture: "A", Sound: "B", By: SyncByTimecode}
	fields(t, golden(t, "sync", aSync()), "picture", "sound", "offset", "drift_ppm", "drift_ppb", "confidence", "by", "has_timecode", "disagreement")
	fields(t, golden(t, "sync-bare", bare), "picture", "sound", "offset", "drift_ppb", "has_timecode")
	for _, want := range []Sync{aSync(), bare} {
		data, err := json.Marshal(want)
		var got Sync
		if err == nil {
			err = json.Unmarshal(data, &got)
		}
		if got != want || err != nil {
			t.Errorf("got %+v, %v, want %+v", got, err, want)
		}
	}
	if err := json.Unmarshal([]byte(`{"offset": 3}`), &bare); err == nil {
		t.Error("got no error for an offset that is a number")
	}
}

func TestSyncValid(t *testing.T) {
	if err := aSync().Valid(); err != nil {
		t.Error(err)
	}
	for name, change := range map[string]func(s *Sync){
		"no picture":     func(s *Sync) { s.Picture = "" },
		"no sound":       func(s *Sync) { s.Sound = "" },
		"one reel":       func(s *Sync) { s.Sound = "d2-cam" },
		"drift":          func(s *Sync) { s.DriftPPB = -maxDriftPPB - 1 },
		"low confidence": func(s *Sync) { s.Confidence = -1 },
		"confidence":     func(s *Sync) { s.Confidence = 1001 },
		"known by":       func(s *Sync) { s.By = "clap" },
	} {
		s := aSync()
		change(&s)
		if err := s.Valid(); !errors.Is(err, ErrInvalid) {
			t.Errorf("%s: got %v, want ErrInvalid", name, err)
		}
	}
}
