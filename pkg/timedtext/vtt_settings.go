package timedtext

import (
	"slices"
	"strconv"
	"strings"
)

// Settings of cues and regions, W3C WebVTT sections 6.2 and 6.3. Values that
// break the rules are left out, as the rules say.

// vttSettings reads the cue settings after the times: vertical, line,
// position, size, align, region.
func vttSettings(s string) map[string]string {
	var out map[string]string
	for item := range strings.FieldsFuncSeq(s, func(r rune) bool { return strings.ContainsRune(vttSpace, r) }) {
		name, value, ok := strings.Cut(item, ":")
		if !ok || name == "" || value == "" || !validSetting(name, value) {
			continue
		}
		if out == nil {
			out = map[string]string{}
		}
		out[name] = value
	}
	// A cue with one of these is not drawn in its region.
	if out["line"] != "" || out["vertical"] != "" || out["size"] != "" && out["size"] != "100%" {
		delete(out, "region")
	}
	return out
}

func validSetting(name, value string) bool {
	switch name {
	case "vertical":
		return value == "rl" || value == "lr"
	case "size":
		return percentage(value)
	case "align":
		return slices.Contains([]string{"start", "center", "end", "left", "right"}, value)
	case "position":
		at, align, has := strings.Cut(value, ",")
		return percentage(at) && (!has || slices.Contains([]string{"line-left", "center", "line-right"}, align))
	case "line":
		at, align, has := strings.Cut(value, ",")
		if has && !slices.Contains([]string{"start", "center", "end"}, align) {
			return false
		}
		if strings.HasSuffix(at, "%") {
			return percentage(at)
		}
		return lineNumber(at)
	case "region":
		return true
	}
	return false
}

// lineNumber tells whether s is a line position: digits with at most one full
// stop between digits and a minus sign in front.
func lineNumber(s string) bool {
	s = strings.TrimPrefix(s, "-")
	whole, frac, dot := strings.Cut(s, ".")
	_, err := strconv.ParseFloat(s, 64)
	return digits(whole) && (!dot || digits(frac)) && err == nil
}

func digits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// percentage tells whether s is a number of 0 to 100 with a per cent sign.
func percentage(s string) bool {
	s, ok := strings.CutSuffix(s, "%")
	whole, frac, dot := strings.Cut(s, ".")
	if !ok || !digits(whole) || dot && !digits(frac) {
		return false
	}
	v, err := strconv.ParseFloat(s, 64)
	return err == nil && v <= 100
}

// vttRegion reads the settings of a REGION block.
func vttRegion(s string) Region {
	r := Region{}
	for item := range strings.FieldsFuncSeq(s, func(r rune) bool { return strings.ContainsRune(vttSpace, r) }) {
		name, value, ok := strings.Cut(item, ":")
		if !ok || name == "" || value == "" {
			continue
		}
		switch name {
		case "id":
			r.ID = value
			continue
		case "width":
			ok = percentage(value)
		case "lines":
			ok = digits(value)
		case "regionanchor", "viewportanchor":
			x, y, has := strings.Cut(value, ",")
			ok = has && percentage(x) && percentage(y)
		case "scroll":
			ok = value == "up"
		default:
			ok = false
		}
		if ok {
			if r.Settings == nil {
				r.Settings = map[string]string{}
			}
			r.Settings[name] = value
		}
	}
	return r
}
