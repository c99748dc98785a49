package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

func ingestCommand(c *call) *cobra.Command {
	var opt desk.IngestOptions
	cmd := &cobra.Command{
		Use:   "ingest PATH...",
		Short: "Take recordings and transcripts into the bank",
		Long: `Take in files and whole folders. Recordings are heard in one pass and never
changed; transcripts are cut into quotes. A transcript finds its recording by
name (D1-INT1.srt, D1-INT1_v2.srt), by being the only one in the folder, or by
--for. Taking a file in again changes nothing unless it was corrected; tags,
ratings and selects stay with the sayings.

Recordings are WAV, RF64, BW64; camera files and packed sound are taken too
where ffmpeg is installed. Transcripts are SRT, WebVTT, TTML, EBU STL, SSA/ASS,
plain text with timecodes, CSV/TSV, DOCX, ODT, web pages (HTML), and JSON with
segments or words.

Talk can be private: take in what its speakers agreed to, and keep the bank
where only those may read it who should. Local law and the release decide.`,
		Example: "  rushlight ingest rushes/\n  rushlight ingest ines.srt --for D2-INT2\n  rushlight ingest old.txt --encoding windows-1252 --rate 29.97df",
		Args:    args(1, -1, "files or folders"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.Paths = a
			return c.with(cmd.Context(), func(d *desk.Desk) error { return ingest(cmd, c, d, opt) })
		},
	}
	f := cmd.Flags()
	f.StringVar(&opt.For, "for", "", "the reel that the transcripts belong to")
	f.StringVar(&opt.As, "as", "", "read transcripts as srt, vtt, ttml, stl, ass, text, json, csv, docx, odt or html")
	f.StringVar(&opt.Encoding, "encoding", "", "their character encoding, for example windows-1252")
	f.StringVar(&opt.Rate, "rate", "", "frame rate of timecodes, over what the files say")
	f.StringVar(&opt.Language, "language", "", "language of the talk: en, de, fr …")
	f.BoolVar(&opt.Again, "again", false, "read files again that have not changed")
	f.BoolVar(&opt.KeepTimes, "keep-times", false, "leave a transcript's times, even where they don't fit the sound")
	return cmd
}

func ingest(cmd *cobra.Command, c *call, d *desk.Desk, opt desk.IngestOptions) error {
	if !c.json {
		opt.Each = func(r desk.FileReport) { printFile(c, r) }
	}
	rep, err := d.Ingest(cmd.Context(), opt)
	if err != nil {
		return err
	}
	err = c.say(rep, func() {
		var parts []string
		for _, s := range []desk.FileState{desk.StateNew, desk.Corrected, desk.ReadAgain, desk.Moved, desk.Unchanged, desk.Refused} {
			if n := rep.Counts[s]; n > 0 {
				parts = append(parts, fmt.Sprintf("%d %s", n, s))
			}
		}
		if len(parts) == 0 {
			parts = append(parts, "nothing to take in")
		}
		if n := len(rep.Passed); n > 0 {
			parts = append(parts, fmt.Sprintf("%d passed over (%s)", n, passedOver(rep.Passed)))
		}
		if rep.Measured > 0 {
			c.printf("the voices of %s were compared with those before ('voices forget' removes one)\n", many(rep.Measured, "new reel", "new reels"))
		}
		for _, v := range rep.Voices {
			c.printf("%s  %s is %s, alike %s\n", v.Reel, v.Was, v.Voice, percent(v.Alike))
		}
		c.printf("%s; %s in the bank\n", strings.Join(parts, ", "), many(rep.Quotes, "quote", "quotes"))
	})
	if err == nil && rep.Counts[desk.Refused] > 0 {
		err = errRefused
	}
	return err
}

// passedOver names up to three files.
func passedOver(paths []string) string {
	names := []string{}
	for i, p := range paths {
		if i == 3 {
			names = append(names, "…")
			break
		}
		names = append(names, oneLine(filepath.Base(p)))
	}
	return strings.Join(names, ", ")
}

// printFile prints one file's line, its notes beneath it.
func printFile(c *call, r desk.FileReport) {
	name := oneLine(near(r.Path))
	if r.State == desk.Refused {
		// One line for each file, however long.
		c.notef("%-9s  %s: %s\n", r.State, name, r.What)
		if r.Hint != "" {
			c.notef("%s\n", wrap("hint: "+r.Hint, columns, "           ", plain))
		}
		return
	}
	c.printf("%-9s  %s: %s\n", r.State, name, oneLine(r.What))
	for i, n := range r.Notes {
		if i == 5 {
			c.printf("           … and %d more (--json lists all)\n", len(r.Notes)-i)
			break
		}
		c.printf("%s\n", wrap(n, columns, "           ", plain))
	}
}

// near is a path from the working folder, where that is shorter.
func near(path string) string {
	cwd, err := os.Getwd()
	if err != nil {
		return path
	}
	rel, err := filepath.Rel(cwd, path)
	if err != nil || len(rel) >= len(path) {
		return path
	}
	return rel
}

func relinkCommand(c *call) *cobra.Command {
	return &cobra.Command{
		Use:     "relink PATH...",
		Short:   "Find recordings again that were moved",
		Example: "  rushlight relink /media/archive/farbank",
		Args:    args(1, -1, "folders or files to look in"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				r, err := d.Relink(cmd.Context(), a)
				if sayErr := c.say(r, func() {
					for _, f := range r.Files {
						printFile(c, f)
					}
					if len(r.Files) == 0 && err == nil {
						c.printf("every recording is where it was\n")
					}
				}); err == nil {
					err = sayErr
				}
				if err == nil && slices.ContainsFunc(r.Files, func(f desk.FileReport) bool { return f.State == desk.Refused }) {
					err = errRefused
				}
				return err
			})
		},
	}
}
