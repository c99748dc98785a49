package interchange

import (
	"bufio"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// item holds the keys that every composable has.
type item struct {
	Schema   string     `json:"OTIO_SCHEMA"`
	Metadata metadata   `json:"metadata"`
	Name     string     `json:"name"`
	Range    *otioRange `json:"source_range"`
	Effects  []any      `json:"effects"`
	Markers  []any      `json:"markers"`
	Enabled  bool       `json:"enabled"`
}

type otioTimeline struct {
	Schema   string    `json:"OTIO_SCHEMA"`
	Metadata metadata  `json:"metadata"`
	Name     string    `json:"name"`
	Start    *otioTime `json:"global_start_time"`
	Tracks   otioStack `json:"tracks"`
}

type otioStack struct {
	item
	Children []otioTrack `json:"children"`
}

type otioTrack struct {
	item
	Children []any  `json:"children"`
	Kind     string `json:"kind"`
}

type otioClip struct {
	item
	Media  map[string]any `json:"media_references"`
	Active string         `json:"active_media_reference_key"`
}

type otioExternal struct {
	Schema    string     `json:"OTIO_SCHEMA"`
	Metadata  metadata   `json:"metadata"`
	Name      string     `json:"name"`
	Available *otioRange `json:"available_range"`
	URL       string     `json:"target_url"`
}

type otioMissing struct {
	Schema    string     `json:"OTIO_SCHEMA"`
	Metadata  metadata   `json:"metadata"`
	Name      string     `json:"name"`
	Available *otioRange `json:"available_range"`
}

type otioTransition struct {
	Schema   string    `json:"OTIO_SCHEMA"`
	Metadata metadata  `json:"metadata"`
	Name     string    `json:"name"`
	Kind     string    `json:"transition_type"`
	In       *otioTime `json:"in_offset"`
	Out      *otioTime `json:"out_offset"`
}

// otioMarker carries its range under both names: readers of the first marker
// schema look for range, all later ones for marked_range.
type otioMarker struct {
	Schema   string     `json:"OTIO_SCHEMA"`
	Metadata metadata   `json:"metadata"`
	Name     string     `json:"name"`
	Colour   string     `json:"color"`
	Comment  string     `json:"comment"`
	Marked   *otioRange `json:"marked_range"`
	Range    *otioRange `json:"range"`
}

type otioEffect struct {
	Schema   string   `json:"OTIO_SCHEMA"`
	Metadata metadata `json:"metadata"`
	Name     string   `json:"name"`
	Effect   string   `json:"effect_name"`
	Scalar   float    `json:"time_scalar"`
}

// WriteOTIO writes a cut as an OpenTimelineIO document: one Timeline with one
// Track for each lane of the cut (kind Video for lanes whose name starts with
// V, Audio for all others). Times are floats at the cut's rate. A clip's
// available_range starts at its recording's start timecode, so that its
// source_range counts like the recording's labels; its medium is a file URL,
// or missing where the path is not known. Each quote has a marker with its
// code and text over what is said. What OpenTimelineIO has no place for
// stands under metadata.rushlight. Holes in a lane become gaps. An event
// whose source is longer or shorter than its place without a change of speed
// is written as long as its place.
//
// Errors wrap ErrCut (no frame rate, events of one lane that overlap) or come
// from w.
func WriteOTIO(w io.Writer, c story.Cut) error {
	if err := checkCut(c); err != nil {
		return err
	}
	rate := c.Base.Rate
	doc := otioTimeline{
		Schema:   schemaTimeline,
		Metadata: meta(ours{Base: c.Base.String(), Notes: c.Notes}),
		Name:     c.Title,
		Start:    timeOf(rate, c.Start),
		Tracks:   otioStack{item: newItem(schemaStack, "tracks")},
	}
	for _, lane := range lanesOf(c) {
		t, err := trackOf(c, lane)
		if err != nil {
			return err
		}
		doc.Tracks.Children = append(doc.Tracks.Children, t)
	}
	if doc.Tracks.Children == nil {
		doc.Tracks.Children = []otioTrack{}
	}
	buf := bufio.NewWriter(w)
	enc := json.NewEncoder(buf)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "    ")
	if err := enc.Encode(doc); err != nil {
		return fmt.Errorf("write OpenTimelineIO: %w", err)
	}
	if err := buf.Flush(); err != nil {
		return fmt.Errorf("write OpenTimelineIO: %w", err)
	}
	return nil
}

func newItem(schema, name string) item {
	return item{Schema: schema, Metadata: metadata{}, Name: name, Effects: []any{}, Markers: []any{}, Enabled: true}
}

// lanesOf gives the lanes of a cut in the order in which they come.
func lanesOf(c story.Cut) []string {
	var lanes []string
	for _, e := range c.Events {
		if !slices.Contains(lanes, e.Track) {
			lanes = append(lanes, e.Track)
		}
	}
	return lanes
}

func trackOf(c story.Cut, lane string) (otioTrack, error) {
	rate := c.Base.Rate
	t := otioTrack{item: newItem(schemaTrack, cmp.Or(lane, "A")), Kind: "Audio", Children: []any{}}
	t.Metadata = meta(ours{Track: &lane})
	if strings.HasPrefix(strings.ToUpper(lane), "V") {
		t.Kind = "Video"
	}
	var events []story.Event
	for _, e := range c.Events {
		if e.Track == lane {
			events = append(events, e)
		}
	}
	slices.SortStableFunc(events, func(a, b story.Event) int { return cmp.Compare(a.Record.In, b.Record.In) })
	var at int64
	for _, e := range events {
		in := frameAt(rate, e.Record.In, timecode.Nearest)
		out := frameAt(rate, e.Record.Out, timecode.Nearest)
		if in < at {
			return t, fmt.Errorf("%w: at %s on the timeline two events of one lane overlap (reel %s)", ErrCut, c.Label(e.Record.In, timecode.Floor), e.Reel)
		}
		if in > at {
			gap := newItem(schemaGap, "")
			gap.Range = rangeOf(rate, 0, rate.Ticks(in-at))
			gap.Metadata = meta(ours{Hole: true})
			t.Children = append(t.Children, gap)
		}
		at = out
		if e.Transition.Kind != "" {
			t.Children = append(t.Children, transitionOf(rate, e.Transition))
		}
		t.Children = append(t.Children, pieceOf(rate, e, rate.Ticks(out-in)))
	}
	return t, nil
}

func transitionOf(rate timecode.Rate, t story.Transition) otioTransition {
	return otioTransition{
		Schema: schemaTransition, Name: t.Kind, Kind: "SMPTE_Dissolve",
		Metadata: meta(ours{Kind: t.Kind, KindCode: t.Code, FromReel: t.FromReel, FromClip: t.FromClip, FromTicks: int64(t.From)}),
		In:       timeOf(rate, 0), Out: timeOf(rate, t.Length),
	}
}

// pieceOf makes a clip or gap of an event.
func pieceOf(rate timecode.Rate, e story.Event, length timecode.Ticks) any {
	it := newItem(schemaClip, cmp.Or(e.Clip, e.Reel))
	o := ours{
		Code: string(e.Code), Reel: e.Reel, Speaker: e.Speaker, Text: e.Text, Note: e.Note, Themes: e.Themes,
		Lead: int64(e.Lead), Tail: int64(e.Tail), Channels: e.Channels, Comments: e.Comments,
	}
	if e.Clock.Base.Rate.Known() {
		o.Clock = e.Clock.Base.String()
	}
	if e.Available <= 0 && !e.Gap {
		o.Start = int64(e.Clock.Start)
	}
	if e.Speed != nil {
		o.Speed, o.SpeedAt = e.Speed.Rate, int64(e.Speed.At)
		it.Effects = append(it.Effects, effectOf(rate, *e.Speed))
	}
	it.Metadata = meta(o)
	start := e.Clock.Start + e.Source.In
	it.Range = rangeOf(rate, start, length)
	if m := quoteMarker(e); m != "" {
		it.Markers = append(it.Markers, markerOf(m, markerColour, e.Text, rangeOf(rate, start+e.Lead, e.Talk().Length()), ours{Quote: true}))
	}
	for _, m := range e.Markers {
		at := start + m.At - e.Record.In
		it.Markers = append(it.Markers, markerOf(m.Text, m.Colour, "", rangeOf(rate, at, 0), ours{}))
	}
	if e.Gap {
		it.Schema = schemaGap
		it.Range = rangeOf(rate, 0, length)
		return it
	}
	return otioClip{item: it, Media: map[string]any{defaultMedia: mediumOf(rate, e)}, Active: defaultMedia}
}

func markerOf(name, colour, comment string, r *otioRange, o ours) otioMarker {
	return otioMarker{
		Schema: schemaMarker, Metadata: meta(o), Name: name, Colour: cmp.Or(colour, markerColour),
		Comment: comment, Marked: r, Range: r,
	}
}

func effectOf(rate timecode.Rate, s story.Speed) otioEffect {
	fps, err := strconv.ParseFloat(s.Rate, 64)
	if err != nil || math.IsNaN(fps) || math.IsInf(fps, 0) {
		fps = rate.Float()
	}
	e := otioEffect{Schema: schemaWarp, Metadata: metadata{}, Effect: "LinearTimeWarp", Scalar: float(fps / rate.Float())}
	if fps == 0 {
		e.Schema, e.Effect = schemaFreeze, "FreezeFrame"
	}
	return e
}

func mediumOf(rate timecode.Rate, e story.Event) any {
	var available *otioRange
	if e.Available > 0 {
		available = rangeOf(rate, e.Clock.Start, e.Available)
	}
	if e.Path == "" {
		return otioMissing{Schema: schemaMissing, Metadata: metadata{}, Name: e.Reel, Available: available}
	}
	return otioExternal{Schema: schemaExternal, Metadata: metadata{}, Name: e.Reel, Available: available, URL: fileURL(e.Path)}
}

// fileURL turns a path into a URL with everything escaped that must be. A
// path that is not absolute stays relative.
func fileURL(path string) string {
	p := filepath.ToSlash(path)
	if len(p) > 2 && p[1] == ':' && p[2] == '/' { // a drive
		p = "/" + p
	}
	u := url.URL{Path: p}
	if strings.HasPrefix(p, "/") {
		u.Scheme = "file"
	}
	return u.String()
}

// filePath is the reverse of fileURL; "" for a URL that is no file.
func filePath(target string) string {
	u, err := url.Parse(target)
	if err != nil {
		return target
	}
	if u.Scheme != "" && u.Scheme != "file" {
		return ""
	}
	p := u.Path
	if len(p) > 3 && p[0] == '/' && p[2] == ':' && p[3] == '/' {
		p = p[1:]
	}
	return strings.TrimPrefix(p, "./")
}
