package timedtext

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"

	"rushlight/pkg/timecode"
)

// TTML is read by W3C TTML2 as far as its profiles for subtitles use it (IMSC
// 1.2 Text, EBU-TT-D, SMPTE-TT): all time expressions, nested begin, dur and
// end, seq containers, styling inheritance of slant, weight, underline, colour
// and alignment, agents as speakers. Pictures, animation and layout beyond the
// region's name are not read.

// maxDepth bounds the nesting of elements.
const maxDepth = 200

// ttmlElement is an open element.
type ttmlElement struct {
	name   string
	tt     bool // in the TTML namespace (any edition)
	attrs  map[string]string
	style  ttmlStyle
	span   timecode.Span // Out NoTime: open
	cursor timecode.Ticks
	// bounded tells that it has an end or a length of its own, lost that its
	// beginning wasn't understood.
	bounded bool
	lost    error
	// shown is when its text is on the screen: span, narrowed by set elements
	// and by the region's own times.
	shown  timecode.Span
	seq    bool
	keep   bool // xml:space preserve
	agent  string
	lang   string
	region string
	id     string
}

func (e *ttmlElement) attr(space, local string) string { return e.attrs[space+":"+local] }

type ttmlReader struct {
	*reader
	dec    *xml.Decoder
	clock  ttmlClock
	stack  []*ttmlElement
	styles map[string]ttmlStyle
	// resolved are styles with their references laid under them, resolving those
	// that are being so.
	resolved  map[string]ttmlStyle
	resolving []string
	// regions holds the style of each region, agents the name of each agent.
	regions map[string]ttmlStyle
	// areas holds when each region is there.
	areas  map[string]timecode.Span
	agents map[string]string

	p      *ttmlElement
	pLine  int
	pieces []ttmlPiece
	meta   strings.Builder
	root   bool

	// beyond counts the times with a frame that the rate lacks, from line
	// beyondAt on.
	beyond, beyondAt int
}

func (rd *reader) readTTML(r io.Reader) error {
	t := &ttmlReader{
		reader: rd, dec: xml.NewDecoder(r),
		styles: map[string]ttmlStyle{}, resolved: map[string]ttmlStyle{}, regions: map[string]ttmlStyle{}, areas: map[string]timecode.Span{}, agents: map[string]string{},
	}
	// A document without a tt element around it has the defaults.
	var err error
	if t.clock, err = newTTMLClock(func(_, _ string) string { return "" }, rd.opt.Base); err != nil {
		return err
	}
	t.dec.Entity = xml.HTMLEntity
	// The text is UTF-8 already, whatever the declaration says.
	t.dec.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	for {
		tok, err := t.dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return t.xmlError(err)
		}
		if err := t.token(tok); err != nil {
			return err
		}
	}
	if !t.root {
		return rd.fail(1, "check that this is a TTML file", "not a TTML file: got no tt element, want one")
	}
	if t.beyond > 0 {
		t.repair(t.beyondAt, "%d times count more frames than the %d a second of ttp:frameRate: taken for the last of their second", t.beyond, t.clock.nominal)
	}
	return rd.noneTimed()
}

func (t *ttmlReader) xmlError(err error) error {
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		return t.fail(syntax.Line, "correct the XML", "XML not well formed: %s", syntax.Msg)
	}
	if what, ok := strings.CutPrefix(err.Error(), "xml: "); ok {
		return t.fail(t.lineNo(), "correct the XML", "XML not understood: %s", what)
	}
	return err
}

func (t *ttmlReader) lineNo() int {
	line, _ := t.dec.InputPos()
	return line
}

func (t *ttmlReader) token(tok xml.Token) error {
	switch tok := tok.(type) {
	case xml.StartElement:
		if len(t.stack) >= maxDepth {
			return t.fail(t.lineNo(), "flatten the document", "elements nested too deep: got over %d, want fewer", maxDepth)
		}
		return t.start(tok)
	case xml.EndElement:
		t.end()
	case xml.CharData:
		t.chars(string(tok))
	case xml.ProcInst:
		// The declaration's encoding was settled before.
	}
	return nil
}

// short names of the TTML namespaces, whatever their edition.
func ttmlSpace(uri string) string {
	switch {
	case uri == "", uri == "xml", uri == "http://www.w3.org/XML/1998/namespace":
		return strings.TrimPrefix(uri, "http://www.w3.org/XML/1998/namespace")
	case strings.HasSuffix(uri, "#parameter"):
		return "ttp"
	case strings.HasSuffix(uri, "#styling"), strings.HasSuffix(uri, "#style"):
		return "tts"
	case strings.HasSuffix(uri, "#metadata"):
		return "ttm"
	case strings.HasSuffix(uri, "/ns/ttml"), strings.HasSuffix(uri, "/ttaf1"), strings.HasSuffix(uri, "/dfxp"):
		return "tt"
	}
	return uri
}

func (t *ttmlReader) start(s xml.StartElement) error {
	e := &ttmlElement{name: s.Name.Local, attrs: make(map[string]string, len(s.Attr))}
	space := ttmlSpace(s.Name.Space)
	// Files without a namespace are met in practice.
	e.tt = space == "tt" || space == ""
	for _, a := range s.Attr {
		k := ttmlSpace(a.Name.Space)
		if a.Name.Space == "xml" || strings.HasSuffix(a.Name.Space, "XML/1998/namespace") {
			k = "xml"
		}
		e.attrs[k+":"+a.Name.Local] = a.Value
	}
	var parent *ttmlElement
	if n := len(t.stack); n > 0 {
		parent = t.stack[n-1]
	}
	t.stack = append(t.stack, e)
	if space == "ttm" {
		t.meta.Reset()
		e.name = "ttm:" + e.name
		e.id = e.attr("xml", "id")
		return nil
	}
	if !e.tt {
		return nil
	}
	if e.name == "tt" {
		t.root = true
		if err := t.parameters(e); err != nil {
			return err
		}
	}
	t.inherit(e, parent)
	t.element(e, parent)
	return nil
}

// parameters reads the attributes of the tt element.
func (t *ttmlReader) parameters(e *ttmlElement) error {
	var err error
	if t.clock, err = newTTMLClock(e.attr, t.opt.Base); err != nil {
		return t.fail(t.lineNo(), "correct the timing parameters of the tt element", "%v", err)
	}
	t.doc.Base = t.clock.base()
	t.doc.Labels = t.clock.smpte
	t.doc.Language = e.attr("xml", "lang")
	return nil
}

func (t *ttmlReader) inherit(e, parent *ttmlElement) {
	e.id = e.attr("xml", "id")
	e.span = timecode.Span{Out: NoTime}
	if parent != nil {
		e.keep, e.agent, e.lang, e.region = parent.keep, parent.agent, parent.lang, parent.region
		e.span = parent.span
	}
	if v := e.attr("xml", "space"); v != "" {
		e.keep = v == "preserve"
	}
	if v := e.attr("ttm", "agent"); v != "" {
		e.agent, _, _ = strings.Cut(strings.TrimSpace(v), " ")
	}
	if v := e.attr("", "region"); v != "" {
		e.region = v
	}
	e.seq = e.attr("", "timeContainer") == "seq"
}

// element acts on one TTML element.
func (t *ttmlReader) element(e, parent *ttmlElement) {
	own := ttmlStyleOf(e)
	switch e.name {
	case "style":
		t.defineStyle(e, parent, own)
		return
	case "region":
		t.regions[e.id] = own
		e.style = own
		t.timing(e, nil)
		t.areas[e.id] = e.span
		return
	case "set":
		t.set(e, parent, own)
		return
	case "body", "div", "p", "span":
	case "br":
		if t.p != nil && parent != nil {
			t.pieces = append(t.pieces, ttmlPiece{span: parent.span, br: true})
		}
		return
	default:
		return
	}
	if parent != nil {
		e.style = parent.style
	}
	if e.region != "" && (parent == nil || parent.region != e.region) {
		e.style = t.resolve(t.regions[e.region]).over(e.style)
	}
	e.style.refs = nil
	e.style = e.style.over(t.resolve(own))
	t.timing(e, parent)
	t.show(e, parent)
	if e.name == "p" && t.p == nil {
		t.p, t.pLine, t.pieces = e, t.lineNo(), nil
	}
}

func (t *ttmlReader) defineStyle(e, parent *ttmlElement, own ttmlStyle) {
	if parent != nil && parent.name == "region" {
		// Nested style: laid over what the region says by reference.
		r := t.regions[parent.id]
		t.regions[parent.id] = r.over(t.resolve(own))
		return
	}
	t.styles[e.id] = own
	clear(t.resolved)
}

func (t *ttmlReader) end() {
	n := len(t.stack)
	if n == 0 {
		return
	}
	e := t.stack[n-1]
	t.stack = t.stack[:n-1]
	if n > 1 {
		parent := t.stack[n-2]
		switch {
		case !parent.seq || e.name != "div" && e.name != "p" && e.name != "span":
		case e.seq && !e.bounded:
			parent.cursor = max(parent.cursor, e.cursor)
		case e.span.Out != NoTime:
			parent.cursor = max(parent.cursor, e.span.Out)
		}
	}
	switch e.name {
	case "ttm:title":
		if t.doc.Title == "" {
			t.doc.Title = strings.TrimSpace(t.meta.String())
		}
	case "ttm:desc":
		if s := strings.TrimSpace(t.meta.String()); s != "" {
			t.doc.Comments = append(t.doc.Comments, s)
		}
	case "ttm:name":
		if n > 1 {
			t.agents[t.stack[n-2].id] = strings.TrimSpace(t.meta.String())
		}
	}
	if e == t.p {
		t.paragraph()
		t.p = nil
	}
}

func (t *ttmlReader) chars(s string) {
	n := len(t.stack)
	if n == 0 {
		return
	}
	e := t.stack[n-1]
	if strings.HasPrefix(e.name, "ttm:") {
		t.meta.WriteString(s)
		return
	}
	if !e.tt || e.name != "p" && e.name != "span" {
		if e.tt && (e.name == "div" || e.name == "body") && !blank(s) {
			t.repair(t.lineNo(), "text outside a paragraph: kept as a comment")
			t.doc.Comments = append(t.doc.Comments, strings.TrimSpace(s))
		}
		return
	}
	if t.p == nil || e.style.ruby == "delimiter" {
		return
	}
	span := e.shown
	if e.seq || e.style.display == "none" {
		// Text straight in a seq container lasts no time: TTML2 12.2.4.
		span.Out = span.In
	}
	speaker := e.agent
	if name, ok := t.agents[e.agent]; ok && name != "" {
		speaker = name
	}
	t.pieces = append(t.pieces, ttmlPiece{
		span: span, text: s, keep: e.keep,
		run: Run{Speaker: speaker, Style: e.style.style()},
	})
}
