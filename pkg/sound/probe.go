package sound

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

const decoderHint = "get ffmpeg (Debian: apt-get install ffmpeg; macOS and Windows: from ffmpeg.org), or convert the file to WAV elsewhere"

// findDecoder finds a program of ffmpeg's on the PATH.
func findDecoder(program, name string) (string, error) {
	path, err := exec.LookPath(program)
	if err != nil {
		return "", &FileError{Name: name, Offset: -1, Err: ErrNoDecoder, Problem: program + " is not on the PATH", Hint: decoderHint}
	}
	return path, nil
}

// inputArgs make ffmpeg and ffprobe read this file and nothing else: no
// network, whatever the name looks like or the file refers to.
func inputArgs(path string) []string {
	return []string{"-protocol_whitelist", "file,pipe", "-i", "file:" + path}
}

// probed is what ffprobe prints of a file (ffprobe -of json, as seen in
// version 5.1.9).
type probed struct {
	Streams []probedStream `json:"streams"`
	Format  struct {
		Name      string `json:"format_name"`
		StartTime string `json:"start_time"`
		Duration  string `json:"duration"`
		Tags      tags   `json:"tags"`
	} `json:"format"`
}

type probedStream struct {
	Index      int    `json:"index"`
	Type       string `json:"codec_type"`
	Codec      string `json:"codec_name"`
	CodecTag   string `json:"codec_tag_string"`
	SampleRate string `json:"sample_rate"`
	Channels   int    `json:"channels"`
	RealRate   string `json:"r_frame_rate"`
	MeanRate   string `json:"avg_frame_rate"`
	TimeBase   string `json:"time_base"`
	StartTime  string `json:"start_time"`
	DurationTS int64  `json:"duration_ts"`
	BitsRaw    string `json:"bits_per_raw_sample"`
	Bits       int    `json:"bits_per_sample"`
	Picture    struct {
		Attached int `json:"attached_pic"`
	} `json:"disposition"`
	Tags tags `json:"tags"`
}

type tags map[string]string

// get finds a tag whatever its case; containers differ.
func (t tags) get(name string) string {
	for k, v := range t {
		if strings.EqualFold(k, name) {
			return strings.TrimSpace(v)
		}
	}
	return ""
}

// probe asks ffprobe what is in a file.
func probe(ctx context.Context, path string) (*probed, error) {
	exe, err := findDecoder("ffprobe", path)
	if err != nil {
		return nil, err
	}
	args := append([]string{"-v", "error", "-of", "json", "-show_format", "-show_streams"}, inputArgs(path)...)
	cmd := exec.CommandContext(ctx, exe, args...)
	var out bytes.Buffer
	said := &firstLine{}
	cmd.Stdout, cmd.Stderr = &out, said
	err = cmd.Run()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		return nil, fmt.Errorf("running ffprobe: %w", err)
	}
	p := &probed{}
	if err == nil {
		err = json.Unmarshal(out.Bytes(), p)
	}
	if err != nil {
		return nil, notMedia(path, said.text(path))
	}
	if p.refers() {
		return nil, notMedia(path, "it is a list that refers to other files ("+p.Format.Name+")")
	}
	return p, nil
}

// refers tells the formats that only name other files.
func (p *probed) refers() bool {
	switch p.Format.Name {
	case "hls", "concat", "dash", "imf", "sdp", "rtsp", "webm_dash_manifest":
		return true
	}
	return false
}

func notMedia(path, said string) error {
	if said == "" {
		said = "ffmpeg finds nothing in it that it knows"
	}
	return &FileError{Name: path, Offset: -1, Err: ErrMedia, Problem: said, Hint: "play it to see whether it is whole; if not, copy it again from the card"}
}

// container is the kind of file in capitals: of the names that ffprobe gives
// to a family of formats the one that the file's ending has, else the first.
func (p *probed) container(path string) string {
	names := strings.Split(p.Format.Name, ",")
	ext := strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".")
	for _, n := range names {
		if n == ext {
			return strings.ToUpper(n)
		}
	}
	return strings.ToUpper(names[0])
}

// firstLine keeps the first line of what a program says and drops the rest.
type firstLine struct {
	b    []byte
	full bool
}

func (l *firstLine) Write(b []byte) (int, error) {
	n := len(b)
	if l.full {
		return n, nil
	}
	if i := bytes.IndexByte(b, '\n'); i >= 0 && len(bytes.TrimSpace(append(l.b, b[:i]...))) > 0 {
		b, l.full = b[:i], true
	}
	l.b = append(l.b, b...)
	if len(l.b) > 1000 {
		l.b, l.full = l.b[:1000], true
	}
	return n, nil
}

// text is the line without ffmpeg's "[mov @ 0x55…]" and the file's own name.
func (l *firstLine) text(path string) string {
	s := strings.ToValidUTF8(strings.TrimSpace(string(l.b)), "?")
	for strings.HasPrefix(s, "[") {
		end := strings.Index(s, "] ")
		if end < 0 || !strings.Contains(s[:end], " @ ") {
			break
		}
		s = s[end+2:]
	}
	return strings.TrimPrefix(s, "file:"+path+": ")
}

// micros reads seconds with decimals, as ffprobe prints them, in µs; ok is
// false for "N/A" and the like.
func micros(s string) (us int64, ok bool) {
	whole, part, _ := strings.Cut(s, ".")
	n, err := strconv.ParseInt(whole+(part + "000000")[:6], 10, 64)
	return n, err == nil && len(part) < 20
}

// ratio reads "30000/1001".
func ratio(s string) (num, den int64, ok bool) {
	a, b, found := strings.Cut(s, "/")
	num, err := strconv.ParseInt(a, 10, 64)
	den, err2 := strconv.ParseInt(b, 10, 64)
	return num, den, found && err == nil && err2 == nil && num > 0 && den > 0
}
