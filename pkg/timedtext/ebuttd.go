package timedtext

import (
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// EBUTTD is EBU-TT-D (EBU Tech 3380), the profile of TTML for distribution. It
// is written by name only, since its file name endings are TTML's; reading it
// is reading TTML.
const EBUTTD Format = "ebuttd"

// ebuttdOpening is the root element: media time and a grid of cells, no frame
// rate (Tech 3380: timeBase, cellResolution and xml:lang are all it has).
const ebuttdOpening = `<?xml version="1.0" encoding="UTF-8"?>
<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter" xmlns:tts="http://www.w3.org/ns/ttml#styling" xmlns:ttm="http://www.w3.org/ns/ttml#metadata" xmlns:ebuttm="urn:ebu:tt:metadata" ttp:timeBase="media" ttp:cellResolution="50 30" xml:lang="%s">
<head>
`

// ebuttdConforms is the document's statement of what it is, in the words of
// Tech 3380 annex B and of W3C IMSC 1.
const ebuttdConforms = `<ebuttm:documentMetadata><ebuttm:conformsToStandard>urn:ebu:tt:distribution:2014-01</ebuttm:conformsToStandard><ebuttm:conformsToStandard>http://www.w3.org/ns/ttml/profile/imsc1/text</ebuttm:conformsToStandard></ebuttm:documentMetadata>
`

// ebuttdAligns are the values of tts:textAlign, each a paragraph style.
var ebuttdAligns = []string{"center", "left", "right", "start", "end"}

// ebuttdWriter holds the identifiers that the document uses.
type ebuttdWriter struct {
	*writer
	agents map[string]string
	styles map[Style]string
	ids    map[string]bool
	next   int
}

func (w *writer) writeEBUTTD() {
	d := w.doc
	w.loseTime(false, false, false)
	e := &ebuttdWriter{writer: w, styles: map[Style]string{}, ids: map[string]bool{"bottom": true, "text": true}}
	fmt.Fprintf(w, ebuttdOpening, xmlEscape(d.Language))
	e.agents = w.ttmlMetadata(ebuttdConforms)
	e.styling()
	w.line(`<layout><region xml:id="bottom" tts:origin="10%% 10%%" tts:extent="80%% 80%%" tts:displayAlign="after"/></layout>`)
	w.line("</head>")
	w.line("<body><div>")
	for _, id := range e.agents {
		e.ids[id] = true
	}
	for i := range d.Cues {
		e.reserve(d.Cues[i].ID)
	}
	taken := map[string]bool{}
	for i := range d.Cues {
		e.cue(&d.Cues[i], taken)
	}
	w.line("</div></body>")
	w.line("</tt>")
}

// reserve keeps a cue's identifier from being given to another.
func (e *ebuttdWriter) reserve(id string) {
	if isNCName(id) {
		e.ids[id] = true
	}
}

// styling writes the styles: Tech 3380 has styling by reference only.
func (e *ebuttdWriter) styling() {
	e.line("<styling>")
	e.line(`<style xml:id="text" tts:backgroundColor="#000000" tts:fontSize="160%%" tts:fontFamily="monospace"/>`)
	for _, a := range ebuttdAligns {
		e.line(`<style xml:id="align-%s" tts:textAlign="%s"/>`, a, a)
		e.ids["align-"+a] = true
	}
	for _, c := range e.doc.Cues {
		for _, l := range c.Lines {
			for _, r := range l {
				e.style(r.Style)
			}
		}
	}
	e.line("</styling>")
}

// style writes a style that was not met before.
func (e *ebuttdWriter) style(s Style) {
	if s == (Style{}) || e.styles[s] != "" {
		return
	}
	id := fmt.Sprintf("look%d", len(e.styles)+1)
	e.styles[s], e.ids[id] = id, true
	attrs := ""
	if s.Italic {
		attrs += ` tts:fontStyle="italic"`
	}
	if s.Bold {
		attrs += ` tts:fontWeight="bold"`
	}
	if s.Underline {
		attrs += ` tts:textDecoration="underline"`
	}
	if c := e.hexColour(s.Colour); c != "" {
		attrs += fmt.Sprintf(` tts:color="%s"`, c)
	}
	e.line(`<style xml:id="%s"%s/>`, id, attrs)
}

// hexColour is a colour as #rrggbb, noting where a name is lost by that; ""
// where there is none.
func (w *writer) hexColour(c string) string {
	if c == "" {
		return ""
	}
	if named, ok := colourHex[c]; ok {
		w.lose("names of colours: written as numbers")
		return named
	}
	if len(c) != 7 || colour(c) != c {
		w.lose(lostColour)
		return ""
	}
	return c
}

func (e *ebuttdWriter) cue(c *Cue, taken map[string]bool) {
	e.loseCue(c, false, "align", "region")
	if r := c.Settings["region"]; r != "" && r != "bottom" {
		e.lose(lostSettings)
	}
	id := c.ID
	if id != "" && (!isNCName(id) || taken[id] || e.reservedStyle(id)) {
		e.lose(lostID)
		id = ""
	}
	for id == "" {
		// Tech 3380: every p has an xml:id.
		e.next++
		if name := fmt.Sprintf("sub%d", e.next); !e.ids[name] {
			id = name
		}
	}
	taken[id] = true
	align := "center"
	if a := c.Settings["align"]; a != "" {
		if slices.Contains(ebuttdAligns, a) {
			align = a
		} else {
			e.lose(lostSettings)
		}
	}
	in := e.round(c.In, timecode.Millisecond)
	fmt.Fprintf(e, `<p xml:id="%s" xml:space="preserve" region="bottom" style="align-%s" begin="%s"%s>`, id, align, clock(in, '.'), e.end(c, in))
	for i, l := range e.compose(c, true) {
		if i > 0 {
			fmt.Fprint(e, "<br/>")
		}
		for _, r := range l {
			e.span(r)
		}
	}
	e.line("</p>")
}

// reservedStyle tells whether an identifier is one of a style or region.
func (e *ebuttdWriter) reservedStyle(id string) bool {
	return id == "text" || id == "bottom" || strings.HasPrefix(id, "align-") || strings.HasPrefix(id, "look")
}

func (e *ebuttdWriter) end(c *Cue, in timecode.Ticks) string {
	if c.OpenEnd || c.Out == NoTime {
		return ""
	}
	out := e.round(c.Out, timecode.Millisecond)
	if out <= in {
		e.lose(lostBackward)
		return ""
	}
	return fmt.Sprintf(` end="%s"`, clock(out, '.'))
}

func (e *ebuttdWriter) span(r Run) {
	attrs := ` style="text"`
	if id := e.styles[r.Style]; id != "" {
		attrs = fmt.Sprintf(` style="text %s"`, id)
	}
	if r.Speaker != "" {
		attrs += fmt.Sprintf(` ttm:agent="%s"`, e.agents[r.Speaker])
	}
	fmt.Fprintf(e, "<span%s>%s</span>", attrs, xmlEscape(r.Text))
}
