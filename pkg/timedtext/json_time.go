package timedtext

import (
	"encoding/json"
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
)

// when reads the first of keys that is a time.
func (j *jsonReader) when(o object, keys []string) (timecode.Ticks, bool) {
	for _, k := range keys {
		if v, ok := o[k]; ok && v != nil {
			if t, ok := j.value(k, v); ok {
				return t, true
			}
		}
	}
	return 0, false
}

// value reads a time: a number or a string; the key may tell the unit.
func (j *jsonReader) value(key string, v any) (timecode.Ticks, bool) {
	num, den := int64(timecode.PerSecond), int64(1)
	switch {
	case strings.HasSuffix(key, "ms"), strings.HasSuffix(key, "millis"), strings.HasSuffix(key, "milliseconds"):
		den = 1000
	case strings.HasSuffix(key, "inticks"):
		den = 10_000_000
	case key != "seconds" && j.millis:
		den = 1000
	}
	switch v := v.(type) {
	case json.Number:
		s := v.String()
		if strings.ContainsAny(s, "eE") {
			f, err := strconv.ParseFloat(s, 64)
			if err != nil || f > 1e9 || f < -1e9 {
				return 0, false
			}
			return timecode.FromSeconds(f / float64(den)), true
		}
		neg := strings.HasPrefix(s, "-")
		t, ok := scaled(strings.TrimPrefix(s, "-"), num, den)
		if neg {
			t = -t
		}
		return t, ok
	case string:
		if t, ok := scaled(strings.TrimSpace(v), num, den); ok {
			return t, true
		}
		t, err := j.time(v, 0)
		return t, err == nil
	case map[string]any:
		// {"seconds": 1.5} as our own output writes times.
		if s, ok := v["seconds"]; ok {
			return j.value("seconds", s)
		}
	}
	return 0, false
}

// guessUnit finds out whether bare whole numbers are milliseconds: they are if
// as seconds nobody would say more than one letter in two seconds.
func (j *jsonReader) guessUnit(list []object) {
	var letters, seconds int64
	for _, o := range list {
		if j.stopped() != nil {
			return
		}
		from, ok1 := first(o, "start", "from", "begin", "starttime").(json.Number)
		to, ok2 := first(o, "end", "to", "endtime").(json.Number)
		if !ok1 || !ok2 {
			continue
		}
		a, err1 := strconv.ParseInt(from.String(), 10, 64)
		b, err2 := strconv.ParseInt(to.String(), 10, 64)
		if err1 != nil || err2 != nil {
			return // a decimal point: seconds
		}
		letters += int64(len(j.textFrom(o)))
		seconds += b - a
	}
	if seconds > 20 && letters > 0 && letters*2 < seconds {
		j.millis = true
		j.repair(0, "times are whole numbers without a unit: read as milliseconds")
	}
}
