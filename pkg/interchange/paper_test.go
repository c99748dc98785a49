package interchange

import (
	"bytes"
	"errors"
	"html"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func paper(t *testing.T, c story.Cut, opt PaperOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := WritePaper(&b, c, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestPaperHead(t *testing.T) {
	c := ferry() // 6.32 + 2.8 + 4 s of talk
	cases := []struct {
		target timecode.Ticks
		want   string
	}{
		{0, "Running time 0:13.1 · 3 pieces · 25 frames/s\n"},
		{13 * timecode.Second, "Running time 0:13.1 · target 0:13.0 · 0:00.1 over · 3 pieces · 25 frames/s\n"},
		{20 * timecode.Second, "Running time 0:13.1 · target 0:20.0 · 0:06.9 under · 3 pieces · 25 frames/s\n"},
		{328 * timecode.Rate25.Ticks(1), "Running time 0:13.1 · target 0:13.1 · to the point · 3 pieces · 25 frames/s\n"},
	}
	for _, x := range cases {
		if got := paper(t, c, PaperOptions{Target: x.target}); !strings.Contains(got, x.want) {
			t.Errorf("target %s: want %q in\n%s", x.target, x.want, got)
		}
	}
}

// The name of a speaker stands once over what they say in a row, and again
// after somebody else or a silence.
func TestPaperSpeakers(t *testing.T) {
	b := base("25")
	c := story.Cut{Title: "x", Base: b}
	for i, who := range []string{"Ines", "Ines", "Joss", "Ines", "", "gap", "Ines"} {
		e := frames(b, "D2-INT2", 0, int64(i)*25, 25)
		e.Speaker, e.Gap = who, who == "gap"
		c.Events = append(c.Events, e)
	}
	var got []string
	for _, l := range strings.Split(paper(t, c, PaperOptions{}), "\n") {
		if strings.HasPrefix(l, "## ") {
			got = append(got, l[3:])
		}
	}
	if want := "INES JOSS INES SPEAKER UNKNOWN INES"; strings.Join(got, " ") != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestPaperErrors(t *testing.T) {
	if err := WritePaper(&bytes.Buffer{}, story.Cut{}, PaperOptions{}); !errors.Is(err, ErrCut) {
		t.Errorf("got %v, want ErrCut", err)
	}
	if err := WritePaper(brokenWriter{}, ferry(), PaperOptions{}); !errors.Is(err, errBroken) {
		t.Errorf("got %v, want the writer's error", err)
	}
}

// The reference renderer of CommonMark (Debian's cmark) shows every escaped
// text as it was said.
func TestMarkdownAgainstCmark(t *testing.T) {
	if _, err := exec.LookPath("cmark"); err != nil {
		t.Skip("cmark not found: apt-get install cmark")
	}
	texts := []string{
		"# no heading", "- no list", "+ nor this", "1. nor this", "12) nor this", "> no quotation", "*not strong*", "__nor this__",
		"a <b>tag</b> & an &amp; entity", "[no link](x) and ![no picture](y)", "`no code`", "---", "===", "***", "~~~", "```", "\\ \\* backslashes",
		"<!-- no comment -->", "http://x.example <http://y.example>", "| no | table |", "a\\", "#", "-", "1.", "a  b", "Nobody rings a bridge.",
	}
	signs := []rune("abc 123.)*_`#+-=>~|<&;[]()!\\\"'^$:é渡")
	r := rand.New(rand.NewPCG(1, 2))
	for range 3000 {
		s := make([]rune, 1+r.IntN(20))
		for i := range s {
			s[i] = signs[r.IntN(len(signs))]
		}
		texts = append(texts, string(s))
	}
	var doc strings.Builder
	var want []string
	for _, s := range texts {
		if s = flat(s); s != "" {
			want = append(want, s)
			doc.WriteString("> " + markdown(s) + "\n\n---\n\n")
		}
	}
	cmd := exec.Command("cmark", "--to", "html", "--unsafe")
	cmd.Stdin = strings.NewReader(doc.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, part := range strings.Split(strings.TrimSpace(string(out)), "<hr />") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		inner, ok := strings.CutPrefix(part, "<blockquote>\n<p>")
		inner, ok2 := strings.CutSuffix(inner, "</p>\n</blockquote>")
		if !ok || !ok2 {
			t.Fatalf("rendered as %q", part)
		}
		got = append(got, html.UnescapeString(inner))
	}
	if len(got) != len(want) {
		t.Fatalf("got %d texts, want %d", len(got), len(want))
	}
	for i := range got {
		if got[i] != want[i] {
			t.Errorf("got %q, want %q (written %q)", got[i], want[i], markdown(want[i]))
		}
	}
}
