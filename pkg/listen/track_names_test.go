package listen

import "testing"

// What track names say: whose microphone it is, or that it is nobody's.
func TestTrackNames(t *testing.T) {
	for _, c := range []struct {
		name, speaker string
		shared        bool
	}{
		{"Ines lav", "Ines", false},
		{"lav_2 Joss", "Joss", false},
		{"Ms Vance", "Vance", false},
		{"MS stereo", "Channel 1", true},
		{"MS 1", "Channel 1", true},
		{"boom", "Channel 1", true},
		{"Petra boom", "Petra", true},
		{"Anna-Maria lav", "Anna-Maria", false},
		{"Инес", "Инес", false},
		{"鐘 lav", "鐘", false},
		{"", "Channel 1", false},
	} {
		if got := speakerOf([]string{c.name}, 0); got != c.speaker || isShared(c.name) != c.shared {
			t.Errorf("%q: got %q, shared %v, want %q, %v", c.name, got, isShared(c.name), c.speaker, c.shared)
		}
	}
}
