package timedtext

import (
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
)

// ttmlOpening is the head of what we write: W3C IMSC 1.1 Text profile, media
// time, one region at the bottom.
const ttmlOpening = `<?xml version="1.0" encoding="UTF-8"?>
<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter" xmlns:tts="http://www.w3.org/ns/ttml#styling" xmlns:ttm="http://www.w3.org/ns/ttml#metadata" xml:lang="%s" ttp:timeBase="media" ttp:contentProfiles="http://www.w3.org/ns/ttml/profile/imsc1.1/text"%s>
`

func (w *writer) writeTTML() {
	d := w.doc
	w.loseTime(false, !d.Base.Drop, false)
	rate := ""
	if d.Base.Rate.Known() {
		n := d.Base.Rate.Nominal()
		rate = fmt.Sprintf(` ttp:frameRate="%d"`, n)
		if d.Base.Rate.Den != 1 {
			// num/den = n × multiplier
			m := ratio(d.Base.Rate.Num, d.Base.Rate.Den*n)
			rate += fmt.Sprintf(` ttp:frameRateMultiplier="%d %d"`, m.Num, m.Den)
		}
	}
	fmt.Fprintf(w, ttmlOpening, xmlEscape(d.Language), rate)
	w.line("<head>")
	agents := w.ttmlMetadata("")
	w.line("<layout>")
	regions := w.ttmlRegions()
	for _, id := range regions {
		w.line(`<region xml:id="%s" tts:origin="10%% 10%%" tts:extent="80%% 80%%" tts:displayAlign="after" tts:textAlign="center"/>`, id)
	}
	w.line("</layout>")
	w.line("</head>")
	w.line(`<body region="bottom"><div>`)
	ids := newTTMLIDs(d, regions)
	for i := range d.Cues {
		w.ttmlCue(&d.Cues[i], agents, ids)
	}
	w.line("</div></body>")
	w.line("</tt>")
}

// ttmlRegions lists the regions that cues name, by name only: the place of all
// is the bottom of the picture.
func (w *writer) ttmlRegions() []string {
	ids := []string{"bottom"}
	seen := map[string]bool{}
	for _, c := range w.doc.Cues {
		if r := c.Settings["region"]; isNCName(r) && !seen[r] {
			seen[r] = true
			ids = append(ids, r)
		}
	}
	return ids
}

// ttmlMetadata writes title, comments and agents after what the profile says of
// itself, and gives each speaker an identifier.
func (w *writer) ttmlMetadata(profile string) map[string]string {
	d := w.doc
	agents := map[string]string{}
	var names []string
	for _, c := range d.Cues {
		for _, l := range c.Lines {
			for _, r := range l {
				if r.Speaker != "" && agents[r.Speaker] == "" {
					names = append(names, r.Speaker)
					agents[r.Speaker] = fmt.Sprintf("speaker%d", len(names))
				}
			}
		}
	}
	w.line("<metadata>")
	w.WriteString(profile)
	if d.Title != "" {
		w.line("<ttm:title>%s</ttm:title>", xmlEscape(d.Title))
	}
	for _, c := range d.Comments {
		w.line("<ttm:desc>%s</ttm:desc>", xmlEscape(c))
	}
	for _, n := range names {
		w.line(`<ttm:agent xml:id="%s" type="person"><ttm:name type="full">%s</ttm:name></ttm:agent>`, agents[n], xmlEscape(n))
	}
	w.line("</metadata>")
	return agents
}

// ttmlIDs makes the identifiers of cues differ: a document may hold each
// xml:id only once (XML, xml:id 1.0).
type ttmlIDs struct {
	taken map[string]bool // by a region or by a cue that was written
	cues  map[string]bool // every identifier that a cue has
	next  map[string]int  // the number to try for one that occurs again
}

func newTTMLIDs(d *Document, regions []string) *ttmlIDs {
	t := &ttmlIDs{taken: map[string]bool{}, cues: map[string]bool{}, next: map[string]int{}}
	for _, r := range regions {
		t.taken[r] = true
	}
	for i := range d.Cues {
		t.cues[d.Cues[i].ID] = true
	}
	return t
}

// own is the identifier that a cue is written with: its own, or with a number
// behind it that no other cue has.
func (t *ttmlIDs) own(id string) string {
	own := id
	for n := max(2, t.next[id]); t.taken[own] || own != id && t.cues[own]; n++ {
		own = fmt.Sprintf("%s-%d", id, n)
		t.next[id] = n + 1
	}
	t.taken[own] = true
	return own
}

func (w *writer) ttmlCue(c *Cue, agents map[string]string, ids *ttmlIDs) {
	w.loseCue(c, false, "align", "region")
	in := c.In
	if in < 0 {
		w.lose(lostNegative)
		in = 0
	}
	attrs := fmt.Sprintf(` begin="%s"`, exact(in))
	switch {
	case c.OpenEnd || c.Out == NoTime:
	case c.Out <= in:
		w.lose(lostBackward)
	default:
		attrs += fmt.Sprintf(` end="%s"`, exact(c.Out))
	}
	if c.ID != "" && isNCName(c.ID) {
		own := ids.own(c.ID)
		if own != c.ID {
			w.lose(lostSameID)
		}
		attrs = fmt.Sprintf(` xml:id="%s"`, own) + attrs
	} else if c.ID != "" {
		w.lose(lostID)
	}
	switch r := c.Settings["region"]; {
	case isNCName(r):
		attrs += fmt.Sprintf(` region="%s"`, r)
	case r != "" && r != "bottom":
		w.lose(lostSettings)
	}
	if a := c.Settings["align"]; slices.Contains(ebuttdAligns, a) {
		attrs += fmt.Sprintf(` tts:textAlign="%s"`, a)
	} else if a != "" {
		w.lose(lostSettings)
	}
	fmt.Fprintf(w, `<p%s xml:space="preserve">`, attrs)
	for i, l := range w.compose(c, true) {
		if i > 0 {
			fmt.Fprint(w, "<br/>")
		}
		for _, r := range l {
			fmt.Fprintf(w, "<span%s>%s</span>", w.ttmlAttrs(r, agents), xmlEscape(r.Text))
		}
	}
	w.line("</p>")
}

func (w *writer) ttmlAttrs(r Run, agents map[string]string) string {
	out := ""
	if r.Speaker != "" {
		out += fmt.Sprintf(` ttm:agent="%s"`, agents[r.Speaker])
	}
	if r.Style.Italic {
		out += ` tts:fontStyle="italic"`
	}
	if r.Style.Bold {
		out += ` tts:fontWeight="bold"`
	}
	if r.Style.Underline {
		out += ` tts:textDecoration="underline"`
	}
	// TTML2 section 10.3.5 names the colours of HTML 4: orange isn't one.
	if c := r.Style.Colour; c == "orange" || strings.HasPrefix(c, "#") || c != "" && colourHex[c] == "" {
		if c = w.hexColour(c); c != "" {
			out += fmt.Sprintf(` tts:color="%s"`, c)
		}
	} else if c != "" {
		out += fmt.Sprintf(` tts:color="%s"`, c)
	}
	return out
}

func xmlEscape(s string) string {
	var b strings.Builder
	// Writing to a strings.Builder cannot fail.
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}

// isNCName tells whether s can be an xml:id (ASCII letters and digits only).
func isNCName(s string) bool {
	for i, r := range s {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '_'
		if !letter && (i == 0 || !(r >= '0' && r <= '9' || r == '-' || r == '.')) {
			return false
		}
	}
	return s != "" && s != "bottom" && !strings.HasPrefix(s, "speaker")
}
