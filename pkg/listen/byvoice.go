package listen

import (
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// byVoice tells turns by voice colour: pieces of talk are merged into voices
// (voices.go), then every cell is given to a voice by Viterbi decoding with a
// price for changing over.
func (a *analysis) byVoice(talk []stretch, voices int, people []int, names []string, end timecode.Ticks) []story.Turn {
	row := make([]int8, a.steps())
	a.store.close() // voices need the room
	for i := range row {
		row[i] = -1
	}
	who := a.voices(talk, voices)
	for i, s := range talk {
		for step := s.from; step < s.to; step++ {
			row[step] = who[i][step/a.perCell-s.from/a.perCell]
		}
	}
	channel := -1
	if len(people) == 1 {
		channel = people[0]
	}
	return nameVoices(row, channel, names, end)
}

// nameVoices numbers voices by first appearance and makes their turns.
func nameVoices(row []int8, channel int, names []string, end timecode.Ticks) []story.Turn {
	var order []int8
	seen := map[int8]bool{-1: true}
	for _, v := range row {
		if !seen[v] {
			seen[v] = true
			order = append(order, v)
		}
	}
	var out []story.Turn
	for n, v := range order {
		others := func(from, to int) bool {
			for _, x := range row[from:to] {
				if x >= 0 && x != v {
					return true
				}
			}
			return false
		}
		t := story.Turn{Speaker: "Voice " + number(n+1), Source: story.ByVoice, Channel: -1}
		if len(order) == 1 && channel >= 0 && channel < len(names) && names[channel] != "" {
			t.Speaker, t.Source, t.Channel = speakerOf(names, channel), story.ByChannel, channel
		}
		for _, s := range gather(len(row), func(step int) bool { return row[step] == v }, others) {
			t.Span = spanOf(s, end)
			out = append(out, t)
		}
	}
	return out
}
