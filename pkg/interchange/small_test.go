package interchange

import (
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

// TestOTIOSwitchedOff: a clip that is switched off is neither heard nor seen
// (the library's documentation of Item.enabled; recalled): its place on the
// timeline stays empty. A track that is switched off is left out. A clip whose
// own name is another keeps its medium's as the reel.
func TestOTIOSwitchedOff(t *testing.T) {
	clip := func(name, medium, more string) string {
		return `{"OTIO_SCHEMA": "Clip.2", "name": "` + name + `", ` + more + `"source_range": {"OTIO_SCHEMA": "TimeRange.1",
			"start_time": {"OTIO_SCHEMA": "RationalTime.1", "rate": 25.0, "value": 0.0}, "duration": {"OTIO_SCHEMA": "RationalTime.1", "rate": 25.0, "value": 25.0}},
			"media_references": {"DEFAULT_MEDIA": {"OTIO_SCHEMA": "MissingReference.1", "name": ` + medium + `}}, "active_media_reference_key": "DEFAULT_MEDIA"}`
	}
	track := func(more string, clips ...string) string {
		return `{"OTIO_SCHEMA": "Track.1", "name": "A1", "kind": "Audio", ` + more + `"children": [` + strings.Join(clips, ",") + `]}`
	}
	doc := `{"OTIO_SCHEMA": "Timeline.1", "name": "cut", "tracks": {"OTIO_SCHEMA": "Stack.1", "children": [` +
		track("", clip("D1-INT1", "null", ""), clip("D1-WILF", "null", `"enabled": false, `), clip("the landing", `"D2-INT2"`, `"enabled": true, `)) + "," +
		track(`"enabled": false, `, clip("D2-TONE", "null", "")) + `]}}`
	c, notes, err := ReadOTIO(strings.NewReader(doc), "x.otio")
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Events) != 3 {
		t.Fatalf("got %d events, want 3: %+v", len(c.Events), c.Events)
	}
	second := timecode.Span{In: timecode.Second, Out: 2 * timecode.Second}
	if e := c.Events[1]; !e.Gap || e.Record != second {
		t.Errorf("the clip that is off: got %+v, want a gap of its length", e)
	}
	if e := c.Events[2]; e.Reel != "D2-INT2" || e.Clip != "the landing" || e.Number != 3 {
		t.Errorf("got reel %q, clip %q, number %d", e.Reel, e.Clip, e.Number)
	}
	if all := strings.Join(notes, "\n"); strings.Count(all, "switched off") != 2 {
		t.Errorf("got notes %q, want one for the clip and one for the track", all)
	}
}

// TestFlat: nothing that ends a line or steers a terminal gets into a list or a
// paper edit; C1 controls are such too (ECMA-48, section 5.3; recalled).
func TestFlat(t *testing.T) {
	if got, want := flat("a\u009b2J\tb\x1b[2J\u0085c\u2028d\x7f"), "a 2J b [2J c d"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
