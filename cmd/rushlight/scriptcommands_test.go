package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// scriptCommands are the words that scripts have beside the usual ones.
func scriptCommands() map[string]func(*testscript.TestScript, bool, []string) {
	return map[string]func(*testscript.TestScript, bool, []string){
		"tone":    toneCommand,
		"odd":     oddCommand,
		"status":  statusCodeCommand,
		"json":    jsonCommand,
		"setcode": setCodeCommand,
		"later":   laterCommand,
		"narrow":  narrowCommand,
		"mislead": misleadCommand,
		"oddname": oddNameCommand,
	}
}

// tone FILE SECONDS [RATE]: writes a mono 16-bit WAV with half a second of a
// 440 Hz tone in each second, and silence between.
func toneCommand(ts *testscript.TestScript, neg bool, args []string) {
	seconds, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	rate := 8000
	if len(args) > 2 {
		rate, err = strconv.Atoi(args[2])
		ts.Check(err)
	}
	ts.Check(writeTone(ts.MkAbs(args[0]), seconds, rate))
}

// odd FOLDER: writes WAV files of 32-bit floats that are odd: silence, noise,
// one sample, 192 kHz, 64 channels, samples that are no numbers.
func oddCommand(ts *testscript.TestScript, neg bool, args []string) {
	r := rand.New(rand.NewPCG(1, 1))
	noise := func(n int) []float32 {
		x := make([]float32, n)
		for i := range x {
			x[i] = float32(0.02 * r.NormFloat64())
		}
		return x
	}
	broken := noise(8000)
	for i := 0; i < len(broken); i += 100 {
		broken[i] = [...]float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1))}[i/100%3]
	}
	nothing := make([]float32, 8000)
	for i := range nothing {
		nothing[i] = float32(math.NaN())
	}
	for _, f := range []struct {
		name           string
		rate, channels int
		samples        []float32
	}{
		{"silence", 48000, 2, make([]float32, 2*96000)},
		{"noise", 48000, 1, noise(5 * 48000)},
		{"one", 48000, 1, []float32{0.25}},
		{"fast", 192000, 1, noise(192000)},
		{"many", 8000, 64, noise(64 * 8000)},
		{"broken", 8000, 1, broken},
		{"nothing", 8000, 1, nothing},
	} {
		var b bytes.Buffer
		b.WriteString("RIFF")
		for _, v := range []any{
			uint32(36 + 4*len(f.samples)), [8]byte([]byte("WAVEfmt ")), uint32(16),
			[2]uint16{3, uint16(f.channels)},
			[2]uint32{uint32(f.rate), uint32(4 * f.channels * f.rate)},
			[2]uint16{uint16(4 * f.channels), 32},
			[4]byte([]byte("data")), uint32(4 * len(f.samples)), f.samples,
		} {
			ts.Check(binary.Write(&b, binary.LittleEndian, v))
		}
		ts.Check(os.MkdirAll(ts.MkAbs(args[0]), 0o755))
		ts.Check(os.WriteFile(filepath.Join(ts.MkAbs(args[0]), f.name+".wav"), b.Bytes(), 0o644))
	}
}

// status CODE rushlight …: runs the program and wants this exit code.
func statusCodeCommand(ts *testscript.TestScript, neg bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if exit := new(exec.ExitError); err != nil {
		if !asExit(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// mislead FILE HZ: makes a WAV file's header say another sample rate.
func misleadCommand(ts *testscript.TestScript, neg bool, args []string) {
	rate, err := strconv.ParseUint(args[1], 10, 32)
	ts.Check(err)
	path := ts.MkAbs(args[0])
	data, err := os.ReadFile(path)
	ts.Check(err)
	at := bytes.Index(data, []byte("fmt "))
	if at < 0 {
		ts.Fatalf("%s has no fmt chunk", path)
	}
	// ckSize, wFormatTag, nChannels stand before nSamplesPerSec.
	binary.LittleEndian.PutUint32(data[at+12:], uint32(rate))
	ts.Check(os.WriteFile(path, data, 0o644))
}

func asExit(err error, target **exec.ExitError) bool {
	e, ok := err.(*exec.ExitError)
	if ok {
		*target = e
	}
	return ok
}

// json PATH VALUE: the last output is JSON and the value at PATH (a.b.0.c,
// or a.len for a length) prints as VALUE.
func jsonCommand(ts *testscript.TestScript, neg bool, args []string) {
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile("stdout")), &v); err != nil {
		ts.Fatalf("output is not JSON: %v", err)
	}
	for _, key := range strings.Split(args[0], ".") {
		switch t := v.(type) {
		case map[string]any:
			w, ok := t[key]
			if !ok {
				ts.Fatalf("no field %q of %s", key, args[0])
			}
			v = w
		case []any:
			if key == "len" {
				v = len(t)
				continue
			}
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(t) {
				ts.Fatalf("no element %q of %s: it has %d", key, args[0], len(t))
			}
			v = t[i]
		default:
			ts.Fatalf("%s: %q is inside a plain value", args[0], key)
		}
	}
	got := fmt.Sprint(v)
	if (got == args[1]) == neg {
		ts.Fatalf("%s is %q, want %q (not: %v)", args[0], got, args[1], neg)
	}
}

// setcode NAME: sets NAME to the first word of the last output, the code of
// the best hit.
func setCodeCommand(ts *testscript.TestScript, neg bool, args []string) {
	code, _, ok := strings.Cut(ts.ReadFile("stdout"), " ")
	if !ok || len(code) < 6 {
		ts.Fatalf("no code at the head of the output")
	}
	ts.Setenv(args[0], code)
}

// later FILE: sets a file's time ten seconds ahead, as an editor would.
func laterCommand(ts *testscript.TestScript, neg bool, args []string) {
	path := ts.MkAbs(args[0])
	info, err := os.Stat(path)
	ts.Check(err)
	when := info.ModTime().Add(10 * time.Second)
	ts.Check(os.Chtimes(path, when, when))
}

// narrow: no line of the last output is wider than 80 columns. Paths are let
// off: a file may lie deep.
func narrowCommand(ts *testscript.TestScript, neg bool, args []string) {
	for _, line := range strings.Split(ts.ReadFile("stdout"), "\n") {
		if wide(line) > columns && !strings.Contains(line, string(filepath.Separator)) {
			ts.Fatalf("%d columns: %s", wide(line), line)
		}
	}
}

// oddname FILE NAME: copies a file to a name with \t and \n in it, which
// scripts can't write.
func oddNameCommand(ts *testscript.TestScript, neg bool, args []string) {
	data, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	name := strings.NewReplacer(`\t`, "\t", `\n`, "\n").Replace(args[1])
	ts.Check(os.WriteFile(ts.MkAbs(name), data, 0o644))
}
