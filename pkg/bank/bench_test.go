package bank

import (
	"fmt"
	"path/filepath"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// benchQuotes makes n quotes of about twenty words with times.
func benchQuotes(reel string, n int, taken map[story.Code]bool) []story.Quote {
	words := []string{"the", "bell", "on", "far", "bank", "was", "for", "them", "who", "rang", "it", "when", "nobody", "came", "down", "to", "winch", "that", "last", "year"}
	list := make([]story.Quote, n)
	for i := range list {
		in := timecode.Ticks(i) * 3 * timecode.Second
		q := story.Quote{
			Speaker: []string{"Ines", "Joss", "Wilf"}[i%3], Span: timecode.Span{In: in, Out: in + 2*timecode.Second},
			Language: "en", InBy: story.FromWords, OutBy: story.FromPause,
		}
		q.Code = story.NewCode(reel, in, func(c story.Code) bool { return taken[c] })
		taken[q.Code] = true
		for w := range 20 {
			at := in + timecode.Ticks(w)*100*timecode.Millisecond
			text := words[(i*7+w*w)%len(words)]
			q.Text += text + " "
			q.Words = append(q.Words, story.Word{Text: text, Span: timecode.Span{In: at, Out: at + 80*timecode.Millisecond}})
		}
		list[i] = q
	}
	return list
}

// bigBank makes a bank of reels × 2,500 quotes, a fifth of them tagged.
func bigBank(b *testing.B, reels int) *Bank {
	b.Helper()
	bank, err := Create(b.Context(), b.TempDir(), testOptions())
	if err != nil {
		b.Fatal(err)
	}
	taken := map[story.Code]bool{}
	for r := range reels {
		reel := fmt.Sprintf("D%d-INT%d", r%5, r)
		quotes := benchQuotes(reel, 2500, taken)
		for i := range quotes {
			if i%5 == 0 {
				quotes[i].Themes = []string{fmt.Sprint("theme ", i%35)}
				quotes[i].Rating = i % 6
			}
		}
		do(b, bank, "ingest", func(tx *Tx) error {
			if err := tx.PutRecording(recording(reel, fmt.Sprint("D", r%5))); err != nil {
				return err
			}
			return tx.PutQuotes(reel, quotes)
		})
	}
	return bank
}

// A transcript of two hours goes in, and comes again corrected.
func BenchmarkPutQuotes(b *testing.B) {
	bank := bigBank(b, 1)
	taken := map[story.Code]bool{}
	first := benchQuotes("D0-INT0", 2500, taken)
	defer func() { _ = bank.Close() }()
	b.Run("new", func(b *testing.B) {
		for i := range b.N {
			b.StopTimer()
			reel := fmt.Sprintf("X%d-%d", b.N, i)
			quotes := benchQuotes(reel, 2500, taken)
			b.StartTimer()
			do(b, bank, "ingest", func(tx *Tx) error {
				if err := tx.PutRecording(recording(reel, "")); err != nil {
					return err
				}
				return tx.PutQuotes(reel, quotes)
			})
		}
	})
	b.Run("corrected", func(b *testing.B) {
		for i := range b.N {
			for k := range first {
				first[k].Text += fmt.Sprint(i)
			}
			do(b, bank, "ingest", func(tx *Tx) error { return tx.PutQuotes("D0-INT0", first) })
		}
	})
}

// What one call of the program asks of a bank with 100,000 quotes.
func BenchmarkRead(b *testing.B) {
	bank := bigBank(b, 40)
	dir := bank.Dir()
	var codes []story.Code
	for q, err := range bank.Quotes(b.Context(), Filter{}) {
		if err != nil {
			b.Fatal(err)
		}
		if q.Order%100 == 0 {
			codes = append(codes, q.Code)
		}
	}
	if err := bank.Close(); err != nil {
		b.Fatal(err)
	}
	if m, err := filepath.Glob(filepath.Join(dir, "*")); err != nil || len(m) != 1 {
		b.Fatal(m, err)
	}
	opt := testOptions()
	opt.ReadOnly = true
	b.Run("open and close", func(b *testing.B) {
		for b.Loop() {
			bank, err := Open(b.Context(), dir, opt)
			if err != nil {
				b.Fatal(err)
			}
			_ = bank.Close()
		}
	})
	b.Run("open, 20 by code, close", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			bank, err := Open(b.Context(), dir, opt)
			if err != nil {
				b.Fatal(err)
			}
			some := make([]story.Code, 20)
			for k := range some {
				some[k] = codes[(i*31+k*47)%len(codes)]
			}
			for _, err := range bank.Quotes(b.Context(), Filter{Codes: some}) {
				if err != nil {
					b.Fatal(err)
				}
			}
			_ = bank.Close()
		}
	})
	bank, err := Open(b.Context(), dir, opt)
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = bank.Close() }()
	for name, f := range map[string]func() error{
		"themes":  func() error { _, err := bank.Themes(b.Context()); return err },
		"summary": func() error { _, err := bank.Summary(b.Context()); return err },
		"taken":   func() error { _, err := bank.CodeTaken(b.Context()); return err },
		"all": func() error {
			for _, err := range bank.Quotes(b.Context(), Filter{}) {
				if err != nil {
					return err
				}
			}
			return nil
		},
		"theme": func() error {
			for _, err := range bank.Quotes(b.Context(), Filter{Theme: "theme 5"}) {
				if err != nil {
					return err
				}
			}
			return nil
		},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if err := f(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The level of two hours.
func BenchmarkEnvelope(b *testing.B) {
	e := story.Envelope{RMS: make([]int16, 720_000), Peak: make([]int16, 720_000)}
	for i := range e.RMS {
		// Speech wanders by some hundredths of a decibel up to some decibels.
		e.RMS[i] = int16(-3000 + (i*7919)%900 - (i/300)%2*3000)
		e.Peak[i] = e.RMS[i] + int16(900+(i*104729)%300)
	}
	packed := packEnvelope(e)
	b.ReportMetric(float64(len(packed))/float64(len(e.RMS)), "bytes/step")
	b.Run("pack", func(b *testing.B) {
		for b.Loop() {
			packEnvelope(e)
		}
	})
	b.Run("unpack", func(b *testing.B) {
		for b.Loop() {
			if _, err := unpackEnvelope(packed); err != nil {
				b.Fatal(err)
			}
		}
	})
}
