package timedtext

import (
	"fmt"
	"slices"
	"strings"
)

// ttmlStyle is the part of TTML styling that a Run keeps, with "not said" told
// from "said to be plain", so that it can be inherited.
type ttmlStyle struct {
	fontStyle, fontWeight, decoration, colour string
	align, display, ruby                      string
	refs                                      []string
}

// over is s with what o says laid over it.
func (s ttmlStyle) over(o ttmlStyle) ttmlStyle {
	for _, f := range []struct{ to, from *string }{
		{&s.fontStyle, &o.fontStyle},
		{&s.fontWeight, &o.fontWeight},
		{&s.decoration, &o.decoration},
		{&s.colour, &o.colour},
		{&s.align, &o.align},
		{&s.display, &o.display},
		{&s.ruby, &o.ruby},
	} {
		if *f.from != "" {
			*f.to = *f.from
		}
	}
	return s
}

func (s ttmlStyle) style() Style {
	return Style{
		Italic:    s.fontStyle == "italic" || s.fontStyle == "oblique",
		Bold:      s.fontWeight == "bold",
		Underline: strings.Contains(" "+s.decoration+" ", " underline "),
		Colour:    ttmlColour(s.colour),
	}
}

// ttmlColour reads <color> of TTML2 section 10.3.5.
func ttmlColour(s string) string {
	args, ok := strings.CutPrefix(s, "rgba(")
	if !ok {
		args, ok = strings.CutPrefix(s, "rgb(")
	}
	if !ok {
		return colour(s)
	}
	var v [3]int
	for i, a := range strings.Split(strings.TrimSuffix(args, ")"), ",") {
		if i > 2 {
			break
		}
		n, ok := number(strings.TrimSpace(a))
		if !ok || n > 255 {
			return ""
		}
		v[i] = n
	}
	return fmt.Sprintf("#%02x%02x%02x", v[0], v[1], v[2])
}

// ttmlStyleOf reads the style attributes of an element.
func ttmlStyleOf(e *ttmlElement) ttmlStyle {
	return ttmlStyle{
		fontStyle: e.attr("tts", "fontStyle"), fontWeight: e.attr("tts", "fontWeight"),
		decoration: e.attr("tts", "textDecoration"), colour: e.attr("tts", "color"),
		align: e.attr("tts", "textAlign"), display: e.attr("tts", "display"), ruby: e.attr("tts", "ruby"),
		refs: strings.Fields(e.attr("", "style")),
	}
}

// resolve is the style with its references laid under it. Each style is
// resolved once: styles that refer to several that do so again would take time
// without end. One that refers to itself adds nothing to itself.
func (t *ttmlReader) resolve(s ttmlStyle) ttmlStyle {
	if len(s.refs) == 0 {
		return s
	}
	var base ttmlStyle
	for _, id := range s.refs {
		whole, ok := t.resolved[id]
		if !ok && len(t.resolving) < maxDepth && !slices.Contains(t.resolving, id) {
			t.resolving = append(t.resolving, id)
			whole = t.resolve(t.styles[id])
			t.resolving = t.resolving[:len(t.resolving)-1]
			t.resolved[id] = whole
		}
		base = base.over(whole)
	}
	return base.over(s)
}
