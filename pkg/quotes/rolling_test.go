package quotes

import (
	"strings"
	"testing"

	"rushlight/pkg/timedtext"
)

// Captions that roll are said once; who repeats something says it twice. The
// form is the one that live captions and speech programs write (common
// practice, no source).
func TestUnroll(t *testing.T) {
	const rolling = `WEBVTT

00:00:01.000 --> 00:00:03.000
the<00:00:01.300><c> ferry</c><00:00:01.700><c> goes</c>

00:00:03.000 --> 00:00:03.010
the ferry goes

00:00:03.010 --> 00:00:05.000
the ferry goes
across<00:00:03.500><c> the</c><00:00:04.000><c> river</c>

00:00:05.000 --> 00:00:05.010
across the river

00:00:05.010 --> 00:00:07.000
across the river
every<00:00:05.500><c> day</c>
`
	const twice = `WEBVTT

00:00:01.000 --> 00:00:02.000
I ring it.

00:00:02.000 --> 00:00:03.000
I ring it.

00:00:04.000 --> 00:00:05.000
Nobody comes.

00:00:06.000 --> 00:00:07.000
Then I ring it.

00:00:08.000 --> 00:00:09.000
And wait.
`
	for file, want := range map[string]string{
		rolling: "the ferry goes | across the river | every day",
		twice:   "I ring it. | I ring it. | Nobody comes. | Then I ring it. | And wait.",
	} {
		d, err := timedtext.Read(strings.NewReader(file), timedtext.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		before := len(d.Cues)
		cues, said, line := newFlow(t.Context(), Source{Document: d}).unroll()
		var got []string
		for _, c := range cues {
			got = append(got, c.Plain())
		}
		if s := strings.Join(got, " | "); s != want || len(d.Cues) != before || (said > 0) != (len(cues) < before) || (said > 0) != (line > 0) {
			t.Errorf("got %q (%d again from line %d), want %q", s, said, line, want)
		}
	}
}
