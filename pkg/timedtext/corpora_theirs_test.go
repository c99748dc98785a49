package timedtext

import (
	"bytes"
	"fmt"
	"time"

	"github.com/asticode/go-astisub"

	"rushlight/pkg/timecode"
)

// theirs reads a file with go-astisub, which may panic or not return.
func theirs(data []byte, f Format) (*Document, error) {
	type result struct {
		doc *Document
		err error
	}
	done := make(chan result, 1)
	go func() {
		var r result
		defer func() {
			if p := recover(); p != nil {
				r = result{err: fmt.Errorf("panic: %v", p)}
			}
			done <- r
		}()
		var s *astisub.Subtitles
		in := bytes.NewReader(data)
		switch f {
		case SRT:
			s, r.err = astisub.ReadFromSRT(in)
		case WebVTT:
			s, r.err = astisub.ReadFromWebVTT(in)
		case TTML:
			s, r.err = astisub.ReadFromTTML(in)
		case STL:
			s, r.err = astisub.ReadFromSTL(in, astisub.STLOptions{IgnoreTimecodeStartOfProgramme: true})
		}
		if r.err == nil {
			r.doc = theirDocument(s, f)
		}
	}()
	select {
	case r := <-done:
		return r.doc, r.err
	case <-time.After(5 * time.Second):
		return nil, fmt.Errorf("no answer in 5 s")
	}
}

// theirDocument is what go-astisub read in our terms.
func theirDocument(s *astisub.Subtitles, f Format) *Document {
	d := &Document{Format: f}
	if s.Metadata != nil {
		theirHead(d, s.Metadata)
	}
	for _, r := range s.Regions {
		region := Region{ID: r.ID, Settings: map[string]string{}}
		if a := r.InlineStyle; a != nil {
			for k, v := range map[string]string{"width": a.WebVTTWidth, "lines": fmt.Sprint(a.WebVTTLines), "regionanchor": a.WebVTTRegionAnchor, "viewportanchor": a.WebVTTViewportAnchor, "scroll": a.WebVTTScroll} {
				if v != "" && v != "0" {
					region.Settings[k] = v
				}
			}
		}
		d.Regions = append(d.Regions, region)
	}
	for _, item := range s.Items {
		c := Cue{Span: timecode.Span{In: theirTime(item.StartAt), Out: theirTime(item.EndAt)}}
		if item.Index > 0 {
			c.ID = fmt.Sprint(item.Index)
		}
		if item.Region != nil {
			c.set("region", item.Region.ID)
		}
		theirSettings(&c, item.InlineStyle)
		for _, l := range item.Lines {
			var line Line
			for _, i := range l.Items {
				r := Run{Text: i.Text, Speaker: l.VoiceName}
				if a := i.InlineStyle; a != nil && a.TeletextColor != nil {
					r.Style.Colour = theirColour(a.TeletextColor)
				}
				line = append(line, r)
			}
			c.Lines = append(c.Lines, line)
		}
		d.Cues = append(d.Cues, c)
	}
	return d
}

func theirTime(t time.Duration) timecode.Ticks {
	return timecode.FromSeconds(t.Seconds())
}

func theirColour(c *astisub.Color) string {
	hex := "#" + c.TTMLString()
	for _, name := range stlColours {
		if colourHex[name] == hex {
			return name
		}
	}
	return hex
}

func theirSettings(c *Cue, a *astisub.StyleAttributes) {
	if a == nil {
		return
	}
	for k, v := range map[string]string{"align": a.WebVTTAlign, "line": a.WebVTTLine, "position": a.WebVTTPosition, "size": a.WebVTTSize, "vertical": a.WebVTTVertical} {
		if v != "" {
			c.set(k, v)
		}
	}
	if p := a.STLPosition; p != nil {
		c.set("row", fmt.Sprint(p.VerticalPosition))
	}
	if j := a.STLJustification; j != nil {
		if v := map[astisub.Justification]string{astisub.JustificationLeft: "left", astisub.JustificationCentered: "center", astisub.JustificationRight: "right"}[*j]; v != "" {
			c.set("align", v)
		}
	}
}

// theirHead gives the fields of an EBU STL header by their codes.
func theirHead(d *Document, m *astisub.Metadata) {
	if m.Framerate > 0 {
		d.Base = timecode.Base{Rate: timecode.Rate{Num: int64(m.Framerate), Den: 1}}
	}
	date := func(t *time.Time) string {
		if t == nil {
			return ""
		}
		return t.Format("060102")
	}
	count := func(n *int) string {
		if n == nil {
			return ""
		}
		return fmt.Sprintf("%02d", *n)
	}
	d.Metadata = map[string]string{
		"OPT": m.Title, "OET": m.STLOriginalEpisodeTitle, "TPT": m.STLTranslatedProgramTitle, "TET": m.STLTranslatedEpisodeTitle,
		"TN": m.STLTranslatorName, "TCD": m.STLTranslatorContactDetails, "SLR": m.STLSubtitleListReferenceCode, "CD": date(m.STLCreationDate), "RD": date(m.STLRevisionDate),
		"RN": fmt.Sprintf("%02d", m.STLRevisionNumber), "MNC": count(m.STLMaximumNumberOfDisplayableCharactersInAnyTextRow), "MNR": count(m.STLMaximumNumberOfDisplayableRows),
		"CO": m.STLCountryOfOrigin, "PUB": m.STLPublisher, "EN": m.STLEditorName, "ECD": m.STLEditorContactDetails, "DSC": m.STLDisplayStandardCode,
		"DFC": fmt.Sprintf("STL%d.01", m.Framerate),
	}
}
