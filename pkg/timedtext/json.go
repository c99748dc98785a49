package timedtext

import (
	"fmt"
	"io"
	"slices"

	"rushlight/pkg/timecode"
)

// JSON of speech-to-text programs has no standard: a list of segments, each
// with start, end, text and perhaps speaker and words, under the spellings
// common in practice; or a list of words alone. Seconds are taken unless the
// key says milliseconds or the whole file makes sense only as milliseconds.

// jsonLists are the keys under which lists of segments stand, best first.
var jsonLists = []string{
	"segments", "utterances", "monologues", "cues", "captions", "subtitles", "sentences", "chunks", "transcription", "entries", "paragraphs",
	"results", "result", "channels", "alternatives", "nbest", "transcript", "transcripts", "data", "output", "items", "elements", "events", "words",
}

var (
	jsonStart = []string{
		"start", "starttime", "begin", "begintime", "from", "in", "ts", "starts", "startts", "startseconds", "startsec", "timestart", "starttimestamp", "timestamp", "time", "offset", "tcin",
		"startms", "starttimems", "startmillis", "startmilliseconds", "beginms", "fromms", "offsetms", "startoffsetms", "offsetmilliseconds", "offsetinticks", "starttimeoffset", "startoffset",
	}
	jsonEnd = []string{
		"end", "endtime", "to", "endts", "stop", "out", "ends", "endseconds", "endsec", "timeend", "endtimestamp", "finish", "tcout",
		"endms", "endtimems", "endmillis", "endmilliseconds", "toms", "endoffsetms", "endtimeoffset", "endoffset",
	}
	jsonLength  = []string{"duration", "dur", "length", "durationms", "durationmilliseconds", "durationseconds", "durationinticks"}
	jsonText    = []string{"text", "transcript", "content", "caption", "sentence", "utterance", "body", "display", "line", "value", "said", "punctuatedtranscript"}
	jsonWord    = []string{"punctuatedword", "word", "text", "value", "content", "displaytext", "w", "token"}
	jsonSpeaker = []string{"speaker", "speakerlabel", "speakername", "speakerid", "speakertag", "spk", "spkid", "name", "who", "person", "speakerindex"}
	jsonWords   = []string{"words", "elements", "tokens", "wordtimestamps", "items"}
)

// object is a JSON object with its keys made plain: small letters and digits.
type object map[string]any

func toObject(v any) (object, bool) {
	m, ok := v.(map[string]any)
	if !ok {
		return nil, false
	}
	o := make(object, len(m))
	for _, k := range slices.Sorted(mapKeys(m)) {
		o[plainName(k)] = m[k]
	}
	return o, true
}

func mapKeys(m map[string]any) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

type jsonReader struct {
	*reader
	names map[string]string // speakers by number
	// millis makes plain numbers milliseconds.
	millis bool
	n      int // segment being read, from 1
	// said holds the speaker of each word by its start as written, where a
	// list apart from the words tells it.
	said map[string]string
}

func (rd *reader) readJSON(r io.Reader) error {
	v, err := rd.jsonValues(r)
	if err != nil {
		return err
	}
	j := &jsonReader{reader: rd, names: map[string]string{}}
	if o, ok := toObject(v[0]); ok {
		j.about(o)
	}
	var list []object
	if len(v) == 1 {
		list = j.find(v[0], 0)
	}
	if len(list) == 0 {
		list = j.find(v, 0)
	}
	if err := rd.stopped(); err != nil {
		return err
	}
	if len(list) == 0 {
		return rd.fail(1, "want an array of segments with start, end and text", "no timed segments found in the JSON")
	}
	j.guessUnit(list)
	for i, s := range list {
		if err := rd.stopped(); err != nil {
			return err
		}
		j.n = i + 1
		if err := j.segment(s); err != nil {
			return err
		}
		list[i] = nil // what is read isn't needed twice
	}
	if len(rd.doc.Cues) == 0 {
		return rd.fail(1, "want an array of segments with start, end and text", "no timed segments found in the JSON")
	}
	return nil
}

// about reads what the top object says of the whole.
func (j *jsonReader) about(o object) {
	if s, ok := o["language"].(string); ok {
		j.doc.Language = s
	} else if s, ok := o["languagecode"].(string); ok {
		j.doc.Language = s
	}
	j.labels(o)
	if s, ok := o["title"].(string); ok {
		j.doc.Title = s
	}
	if list, ok := o["comments"].([]any); ok {
		for _, v := range list {
			if s, ok := v.(string); ok {
				j.doc.Comments = append(j.doc.Comments, s)
			}
		}
	}
	if s, ok := o["rate"].(string); ok {
		if base, err := timecode.ParseBase(s); err == nil {
			j.doc.Base = base
		}
	}
	if b, ok := o["labels"].(bool); ok {
		j.doc.Labels = b
	}
	if v, ok := o["programmestart"]; ok {
		if t, ok := j.value("seconds", v); ok {
			j.doc.ProgrammeStart = t
		}
	}
	list, _ := o["speakers"].([]any)
	for _, v := range list {
		s, ok := toObject(v)
		if !ok {
			continue
		}
		name, _ := s["name"].(string)
		if id := fmt.Sprint(first(s, "id", "speaker", "index")); name != "" {
			j.names[id] = name
		}
	}
}

// labels reads a list of who spoke when that stands beside the words:
// {"speaker_labels": {"segments": [{"items": [{"start_time", "speaker_label"}]}]}}.
func (j *jsonReader) labels(o object) {
	if inner, ok := toObject(o["results"]); ok {
		o = inner
	}
	beside, ok := toObject(o["speakerlabels"])
	if !ok {
		return
	}
	j.said = map[string]string{}
	segments, _ := beside["segments"].([]any)
	for _, v := range segments {
		s, _ := toObject(v)
		items, _ := s["items"].([]any)
		for _, v := range items {
			if w, ok := toObject(v); ok {
				j.said[fmt.Sprint(first(w, jsonStart...))] = j.speaker(w)
			}
		}
	}
}

// first is the value of the first key there is.
func first(o object, keys ...string) any {
	for _, k := range keys {
		if v, ok := o[k]; ok && v != nil {
			return v
		}
	}
	return nil
}

// find looks for the list of segments or words.
func (j *jsonReader) find(v any, depth int) []object {
	if depth > 12 {
		return nil
	}
	if list, ok := v.([]any); ok {
		return j.findInList(list, depth)
	}
	o, ok := toObject(v)
	if !ok {
		return nil
	}
	for _, k := range jsonLists {
		if inner, ok := o[k]; ok {
			if found := j.find(inner, depth+1); len(found) > 0 {
				return found
			}
		}
	}
	return nil
}

func (j *jsonReader) findInList(list []any, depth int) []object {
	var out []object
	timed, words := false, true
	for _, e := range list {
		if j.stopped() != nil {
			return nil
		}
		o, ok := toObject(e)
		if !ok {
			continue
		}
		o = flatten(o)
		_, hasTime := j.when(o, jsonStart)
		hasText := textOf(o, jsonText) != "" || o["lines"] != nil
		hasWords := wordsOf(o) != nil
		timed = timed || hasTime && hasText || hasWords
		if hasText && o["word"] == nil && o["punctuatedword"] == nil && o["type"] == nil || hasWords {
			words = false
		}
		if hasText || hasWords || o["word"] != nil || o["punctuatedword"] != nil {
			timed = timed || hasTime
			out = append(out, o)
		}
	}
	switch {
	case timed && words:
		return j.group(out, "")
	case timed:
		return j.regroup(out)
	}
	out = nil
	for _, e := range list {
		out = append(out, j.find(e, depth+1)...)
	}
	return out
}

// flatten lifts what stands one level deeper: the first of several
// alternatives, and times in objects or pairs of their own.
func flatten(o object) object {
	if alts, ok := o["alternatives"].([]any); ok && len(alts) > 0 {
		if a, ok := toObject(alts[0]); ok {
			for k, v := range a {
				if _, has := o[k]; !has {
					o[k] = v
				}
			}
		}
	}
	if pair, ok := o["timestamp"].([]any); ok && len(pair) == 2 {
		o["start"], o["end"] = pair[0], pair[1]
		delete(o, "timestamp")
	}
	for key, unit := range map[string]string{"timestamps": "", "offsets": "ms"} {
		if t, ok := toObject(o[key]); ok {
			if unit == "" || o["from"] == nil {
				o["from"+unit], o["to"+unit] = t["from"], t["to"]
			}
		}
	}
	return o
}

func textOf(o object, keys []string) string {
	for _, k := range keys {
		if s, ok := o[k].(string); ok && s != "" {
			return s
		}
	}
	return ""
}

// wordsOf is the list of words of a segment, nil if none.
func wordsOf(o object) []object {
	if words, ok := o[plainWords].([]object); ok {
		return words
	}
	words := readWords(o)
	o[plainWords] = words
	return words
}

// plainWords is a key that no object has by itself (see plainName): the words of a
// segment are asked for again and again.
const plainWords = "\x00words"

func readWords(o object) []object {
	for _, k := range jsonWords {
		list, ok := o[k].([]any)
		if !ok {
			continue
		}
		var out []object
		for _, e := range list {
			if w, ok := toObject(e); ok {
				if w = flatten(w); textOf(w, jsonWord) != "" {
					out = append(out, w)
				}
			}
		}
		if len(out) > 0 {
			return out
		}
	}
	return nil
}
