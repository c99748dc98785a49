package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// truePeakLimit is the level that no piece is raised above: −1 dBTP, the most
// that EBU R 128 permits.
const truePeakLimit = -1.0

// levelPieces sets the gain of each piece so that its talk has the loudness
// wanted (LUFS), as far as its true peak stays under −1 dBTP.
func levelPieces(ctx context.Context, pieces []sound.Piece, mixings map[string]sound.Mixing, want float64, events []story.Event, out *Exported) error {
	if want > -5 || want < -60 {
		return usage("for example --level -23", "--level %g: want a loudness from -60 to -5 LUFS", want)
	}
	measured := map[string][]listen.Measured{}
	for path, list := range spansOf(pieces) {
		rd, err := sound.OpenMedia(ctx, path)
		if err != nil {
			return err
		}
		rd.SkipEssence()
		m, err := listen.MeasureSpans(ctx, &mixed{Stream: rd, mixing: mixings[path]}, list)
		if err = errors.Join(err, rd.Close()); err != nil {
			return err
		}
		measured[path] = m
	}
	for i := range pieces {
		p := &pieces[i]
		m := measured[p.Path][0]
		measured[p.Path] = measured[p.Path][1:]
		if math.IsInf(m.IntegratedLUFS, 0) {
			out.Notes = append(out.Notes, fmt.Sprintf("item %d (%s): too short or too quiet to have a loudness: left as it is", i+1, events[i].Code))
			continue
		}
		p.GainDB = want - m.IntegratedLUFS
		if over := m.TruePeakDBTP + p.GainDB - truePeakLimit; over > 0 {
			p.GainDB -= over
			if over < 0.05 { // which no figure shows
				continue
			}
			out.Notes = append(out.Notes, fmt.Sprintf("item %d (%s): %.1f LUFS, not %g: its peaks would go over %g dBTP", i+1, events[i].Code, want-over, want, truePeakLimit))
		}
	}
	return nil
}

// spansOf lists the spans of pieces by the path of their recording, in order.
func spansOf(pieces []sound.Piece) map[string][]timecode.Span {
	spans := map[string][]timecode.Span{}
	for _, p := range pieces {
		spans[p.Path] = append(spans[p.Path], timecode.Span{In: p.In, Out: p.Out})
	}
	return spans
}

// mixPieces chooses how the channels of each recording are mixed, by its path,
// and says where that isn't their plain average.
func mixPieces(ctx context.Context, pieces []sound.Piece, events []story.Event, recs map[string]story.Recording, out *Exported) (map[string]sound.Mixing, error) {
	spans := spansOf(pieces)
	mixings := map[string]sound.Mixing{}
	for i := range pieces {
		p, reel := &pieces[i], events[i].Reel
		m, known := mixings[p.Path]
		if !known {
			var err error
			if m, err = sound.MixingOf(ctx, p.Path, spans[p.Path]); err != nil {
				return nil, err
			}
			mixings[p.Path] = m
			names := recs[reel].TrackNames
			for _, c := range m.Turn {
				out.Notes = append(out.Notes, fmt.Sprintf("%s: %s has opposite polarity and is turned over in the mix", reel, trackName(names, c)))
			}
			for _, c := range m.Leave {
				out.Notes = append(out.Notes, fmt.Sprintf("%s: next to nothing is on %s; it is left out of the mix", reel, trackName(names, c)))
			}
		}
		p.Channels, p.Turned = m.Use, m.Turn
	}
	return mixings, nil
}

// trackName calls a channel, counted from 0, as people do.
func trackName(names []string, c int) string {
	if c < len(names) && names[c] != "" {
		return fmt.Sprintf("channel %d (%s)", c+1, names[c])
	}
	return fmt.Sprintf("channel %d", c+1)
}

// mixed is a recording as a stringout mixes it.
type mixed struct {
	sound.Stream
	mixing sound.Mixing
	mono   []float64
}

// Info is that of the mix.
func (m *mixed) Info() sound.Info {
	info := m.Stream.Info()
	info.Channels, info.ChannelMask = 1, 0
	return info
}

// Next is the next block of the mix.
func (m *mixed) Next() (sound.Block, error) {
	b, err := m.Stream.Next()
	if err != nil || len(b.Samples) == 1 {
		return b, err
	}
	m.mono = m.mixing.Average(b.Samples, m.mono)
	return sound.Block{Start: b.Start, Samples: [][]float64{m.mono}}, nil
}

// RoomToneOptions say how much room tone is wanted of which reel.
type RoomToneOptions struct {
	Reel   string
	Length string
	Out    Output
}

// RoomTone writes the silence of a place, as long as wanted, from the
// stretches of a reel in which nobody speaks.
func (d *Desk) RoomTone(ctx context.Context, opt RoomToneOptions) (Exported, error) {
	out := Exported{File: opt.Out.Path, Form: "roomtone"}
	if opt.Out.Path == "-" {
		return out, usage("give a file: -o tone.wav", "room tone can't go to the terminal")
	}
	opt.Out.sound = true
	var err error
	if opt.Out, err = d.guard(ctx, opt.Out); err != nil {
		return out, err
	}
	if err := opt.Out.check(); err != nil {
		return out, err
	}
	length, err := parseLength(opt.Length)
	if err != nil {
		return out, err
	}
	if length <= 0 {
		return out, usage("for example --length 1:00", "no length of room tone: %q", opt.Length)
	}
	if length > longestTone {
		return out, usage("for example --length 1:00", "--length %s is longer than %s", opt.Length, longestTone.Short())
	}
	l, err := d.Listen(ctx, opt.Reel)
	if err != nil {
		return out, err
	}
	if !exists(l.Recording.Path) {
		return out, refuse("find moved files again with 'rushlight relink FOLDER'", "%s is not where it was: %s", l.Recording.Reel, l.Recording.Path)
	}
	if err := sameSound(ctx, l.Recording); err != nil {
		return out, err
	}
	spans := listen.RoomTone(l.Heard, 300*timecode.Millisecond)
	if len(spans) == 0 {
		return out, refuse("record half a minute of it on location", "%s has no stretch of 0.3 s in which nothing happens", l.Recording.Reel)
	}
	tone, err := listen.MakeTone(ctx, func() (listen.ToneSource, error) { return sound.OpenMedia(ctx, l.Recording.Path) }, spans, length)
	if err != nil {
		return out, err
	}
	defer tone.Close()
	info := tone.Info()
	err = opt.Out.writeFile(func(f *os.File) error {
		w, err := sound.NewWriter(f, sound.WriterOptions{SampleRate: info.SampleRate, Bits: 24, Channels: info.Channels})
		if err != nil {
			return err
		}
		for {
			b, err := tone.Next()
			if errors.Is(err, io.EOF) {
				return w.Close()
			}
			if err != nil {
				return err
			}
			if err := w.Write(b.Samples); err != nil {
				return err
			}
		}
	})
	var from timecode.Ticks
	for _, s := range spans {
		from += s.Length()
	}
	out.Items = len(spans)
	out.Notes = append(out.Notes, fmt.Sprintf("made from %s of %s, the longest %s", count(len(spans), "stretch", "stretches"), from.Short(), longest(spans).Short()))
	out.setLength(length)
	return out, err
}

// tones gives the gap after each piece of a stringout the room tone of that
// piece's place, where its recording has any.
func (d *Desk) tones(ctx context.Context, cut story.Cut, gap timecode.Ticks) func(int) (sound.FillSource, error) {
	if gap <= 0 {
		return nil
	}
	return func(piece int) (sound.FillSource, error) {
		e := cut.Events[piece]
		heard, err := d.bank.Heard(ctx, e.Reel)
		if errors.Is(err, bank.ErrNotFound) {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		spans := listen.RoomTone(*heard, 300*timecode.Millisecond)
		if len(spans) == 0 {
			return nil, nil
		}
		tone, err := listen.MakeTone(ctx, func() (listen.ToneSource, error) { return sound.OpenMedia(ctx, e.Path) }, spans, gap+timecode.Second)
		if errors.Is(err, listen.ErrNoTone) {
			return nil, nil
		}
		return tone, err
	}
}

func longest(spans []timecode.Span) timecode.Ticks {
	var most timecode.Ticks
	for _, s := range spans {
		most = max(most, s.Length())
	}
	return most
}
