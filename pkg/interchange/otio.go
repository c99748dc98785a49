package interchange

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
)

// The schemas of OpenTimelineIO that are written; older and newer ones are
// read too. Names, keys and types follow documents of the reference library
// (seen; see docs/formats-edit.md).
const (
	schemaTimeline   = "Timeline.1"
	schemaStack      = "Stack.1"
	schemaTrack      = "Track.1"
	schemaClip       = "Clip.2"
	schemaGap        = "Gap.1"
	schemaTransition = "Transition.1"
	schemaMarker     = "Marker.2"
	schemaExternal   = "ExternalReference.1"
	schemaMissing    = "MissingReference.1"
	schemaWarp       = "LinearTimeWarp.1"
	schemaFreeze     = "FreezeFrame.1"
	schemaRange      = "TimeRange.1"
	schemaTime       = "RationalTime.1"
)

// defaultMedia is the key of a clip's medium.
const defaultMedia = "DEFAULT_MEDIA"

// float is a JSON number that always shows as a float, as the reference
// library writes its times.
type float float64

func (f float) MarshalJSON() ([]byte, error) {
	s := strconv.FormatFloat(float64(f), 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return []byte(s), nil
}

type otioTime struct {
	Schema string `json:"OTIO_SCHEMA"`
	Rate   float  `json:"rate"`
	Value  float  `json:"value"`
}

type otioRange struct {
	Schema   string    `json:"OTIO_SCHEMA"`
	Duration *otioTime `json:"duration"`
	Start    *otioTime `json:"start_time"`
}

// timeOf is a time as frames at a rate: whole where t lies on a frame, else
// the float nearest to the exact fraction, which reads back to the same tick.
func timeOf(r timecode.Rate, t timecode.Ticks) *otioTime {
	v := &otioTime{Schema: schemaTime, Rate: float(r.Float())}
	if n := r.Frame(t, timecode.Nearest); r.Ticks(n) == t {
		v.Value = float(n)
		return v
	}
	f := new(big.Rat).SetFrac(big.NewInt(int64(t)), big.NewInt(int64(timecode.PerSecond)))
	f.Mul(f, big.NewRat(r.Num, r.Den))
	x, _ := f.Float64()
	v.Value = float(x)
	return v
}

func rangeOf(r timecode.Rate, start, length timecode.Ticks) *otioRange {
	return &otioRange{Schema: schemaRange, Duration: timeOf(r, length), Start: timeOf(r, start)}
}

// maxSeconds bounds the times that are read: about 31 years.
const maxSeconds = 1e9

// ticks is the exact time, to the nearest tick.
func (t *otioTime) ticks() (timecode.Ticks, error) {
	if t == nil {
		return 0, nil
	}
	rate, value := float64(t.Rate), float64(t.Value)
	if !(rate > 0) || math.IsInf(rate, 0) || math.IsNaN(value) || math.Abs(value) > maxSeconds*rate {
		return 0, fmt.Errorf("time of %v frames at %v frames/s", value, rate)
	}
	perFrame := new(big.Rat)
	if r := t.frameRate(); r.Known() {
		perFrame.SetFrac(big.NewInt(r.Den), big.NewInt(r.Num))
	} else {
		perFrame.SetFloat64(rate)
		perFrame.Inv(perFrame)
	}
	x := new(big.Rat).SetFloat64(value)
	x.Mul(x, perFrame)
	x.Mul(x, new(big.Rat).SetInt64(int64(timecode.PerSecond)))
	// Nearest: floor(x + 1/2).
	x.Add(x, big.NewRat(1, 2))
	n := new(big.Int).Div(x.Num(), x.Denom())
	if !n.IsInt64() {
		return 0, fmt.Errorf("time of %v frames at %v frames/s", value, rate)
	}
	return timecode.Ticks(n.Int64()), nil
}

// frameRate is the exact rate; not known where it is no frame rate (sample
// rates, 0).
func (t *otioTime) frameRate() timecode.Rate {
	if t == nil {
		return timecode.Rate{}
	}
	b, err := timecode.ParseBase(strconv.FormatFloat(float64(t.Rate), 'f', -1, 64))
	if err != nil {
		return timecode.Rate{}
	}
	return b.Rate
}

// ours is what this package keeps in a document that its schemas have no
// place for, under metadata.rushlight.
type ours struct {
	// Of a timeline.
	Base  string   `json:"base,omitempty"`
	Notes []string `json:"notes,omitempty"`
	// Of a track; a pointer since "" is a lane too.
	Track *string `json:"track,omitempty"`
	// Of a clip.
	Code    string   `json:"code,omitempty"`
	Reel    string   `json:"reel,omitempty"`
	Speaker string   `json:"speaker,omitempty"`
	Text    string   `json:"text,omitempty"`
	Note    string   `json:"note,omitempty"`
	Themes  []string `json:"themes,omitempty"`
	Clock   string   `json:"clock,omitempty"`
	// Start is the recording's start where no available_range tells it.
	Start    int64    `json:"clock_start_ticks,omitempty"`
	Lead     int64    `json:"lead_ticks,omitempty"`
	Tail     int64    `json:"tail_ticks,omitempty"`
	Channels int      `json:"channels,omitempty"`
	Comments []string `json:"comments,omitempty"`
	Speed    string   `json:"speed,omitempty"`
	SpeedAt  int64    `json:"speed_at_ticks,omitempty"`
	// Of a gap that only fills a hole, and of a quote's own marker.
	Hole  bool `json:"hole,omitempty"`
	Quote bool `json:"quote,omitempty"`
	// Of a transition.
	Kind      string `json:"kind,omitempty"`
	KindCode  string `json:"kind_code,omitempty"`
	FromReel  string `json:"from_reel,omitempty"`
	FromClip  string `json:"from_clip,omitempty"`
	FromTicks int64  `json:"from_ticks,omitempty"`
}

// ourKey is the one key of ours in any metadata.
const ourKey = "rushlight"

type metadata map[string]any

func meta(o ours) metadata {
	b, err := json.Marshal(o)
	if err != nil || string(b) == "{}" {
		return metadata{}
	}
	return metadata{ourKey: o}
}
