package story

import (
	"encoding/json"
	"fmt"
	"strings"

	"rushlight/pkg/timecode"
)

// What a Sync is known by.
const (
	SyncBySound    = "sound"
	SyncByTimecode = "timecode"
)

const (
	billion = 1_000_000_000
	// maxDriftPPB is the largest drift of two clocks that still mean the same
	// speed: one per cent.
	maxDriftPPB = billion / 100
)

// Sync is how a picture reel lies on the sound reel of the same event, in
// double-system sound: the camera's scratch track against the recorder's
// file. A place t on the sound reel and the place u of the same moment on the
// picture reel, each counted by its own clock from its own first sample, obey
//
//	u = (t − Offset) · (1 + DriftPPB/1,000,000,000).
type Sync struct {
	// Picture and Sound are the reels.
	Picture, Sound string
	// Offset is where the picture reel's first sample lies on the sound
	// reel's time; negative where the camera started earlier.
	Offset timecode.Ticks
	// DriftPPB is the camera's clock against the recorder's, in parts per
	// billion: positive where the camera's runs fast, that is, counts more
	// seconds for the same event.
	DriftPPB int64
	// Confidence is 0 to 1000 (certain).
	Confidence int
	// By is SyncBySound or SyncByTimecode.
	By string
	// Disagreement is where timecode puts the picture reel's first sample
	// minus Offset. It means nothing unless HasTimecode.
	Disagreement timecode.Ticks
	// HasTimecode tells that both reels carry timecode.
	HasTimecode bool
}

// ToPicture takes a place on the sound reel to the place of the same moment on
// the picture reel, which may lie before its beginning or behind its end.
// Rounded to the nearest tick.
func (s Sync) ToPicture(t timecode.Ticks) timecode.Ticks {
	return (t - s.Offset).Scale(billion+s.DriftPPB, billion, timecode.Nearest)
}

// ToSound takes a place on the picture reel to the place of the same moment on
// the sound reel; ToSound(ToPicture(t)) is at most one tick from t.
func (s Sync) ToSound(u timecode.Ticks) timecode.Ticks {
	return s.Offset + u.Scale(billion, billion+s.DriftPPB, timecode.Nearest)
}

// Valid reports the first rule the sync breaks: two different reels, a drift
// of at most one per cent, a confidence of 0 to 1000, and By one of the two.
func (s Sync) Valid() error {
	for _, reel := range []string{s.Picture, s.Sound} {
		if err := ValidReel(reel); err != nil {
			return fmt.Errorf("sync of picture %q with sound %q: %w", s.Picture, s.Sound, err)
		}
	}
	bad := func(what string, got, want any) error {
		return fmt.Errorf("sync of picture %s with sound %s %w: %s is %v, want %v", s.Picture, s.Sound, ErrInvalid, what, got, want)
	}
	switch {
	case strings.EqualFold(s.Picture, s.Sound):
		return bad("the sound reel", s.Sound, "another than the picture reel")
	case s.DriftPPB < -maxDriftPPB || s.DriftPPB > maxDriftPPB:
		return bad("the drift", fmt.Sprint(s.DriftPPB, " parts per billion"), fmt.Sprint(maxDriftPPB, " at most"))
	case s.Confidence < 0 || s.Confidence > 1000:
		return bad("the confidence", s.Confidence, "0 to 1000")
	case s.By != SyncBySound && s.By != SyncByTimecode:
		return bad("what it is known by", fmt.Sprintf("%q", s.By), `"sound" or "timecode"`)
	}
	return nil
}

// length is a stretch of time in JSON: a Moment without a label.
type length struct {
	Seconds float64        `json:"seconds"`
	Ticks   timecode.Ticks `json:"ticks"`
}

type syncJSON struct {
	Picture     string  `json:"picture"`
	Sound       string  `json:"sound"`
	Offset      length  `json:"offset"`
	DriftPPM    float64 `json:"drift_ppm"`
	DriftPPB    int64   `json:"drift_ppb"`
	Confidence  int     `json:"confidence"`
	By          string  `json:"by"`
	HasTimecode bool    `json:"has_timecode"`
	// Disagreement is left out without timecode on both.
	Disagreement *length `json:"disagreement,omitempty"`
}

// MarshalJSON writes {"picture", "sound", "offset": {"seconds", "ticks"},
// "drift_ppm", "drift_ppb", "confidence" (0 to 1000), "by", "has_timecode",
// "disagreement": {"seconds", "ticks"}}; the last only with timecode on both.
func (s Sync) MarshalJSON() ([]byte, error) {
	out := syncJSON{
		Picture: s.Picture, Sound: s.Sound, Offset: length{s.Offset.Seconds(), s.Offset},
		DriftPPM: float64(s.DriftPPB) / 1000, DriftPPB: s.DriftPPB,
		Confidence: s.Confidence, By: s.By, HasTimecode: s.HasTimecode,
	}
	if s.HasTimecode {
		out.Disagreement = &length{s.Disagreement.Seconds(), s.Disagreement}
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what MarshalJSON writes; ticks and parts per billion
// count, seconds and parts per million are for people.
func (s *Sync) UnmarshalJSON(data []byte) error {
	var in syncJSON
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	*s = Sync{
		Picture: in.Picture, Sound: in.Sound, Offset: in.Offset.Ticks, DriftPPB: in.DriftPPB,
		Confidence: in.Confidence, By: in.By, HasTimecode: in.HasTimecode,
	}
	if in.Disagreement != nil {
		s.Disagreement = in.Disagreement.Ticks
	}
	return nil
}
