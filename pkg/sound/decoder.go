package sound

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"time"
)

// decoder is one run of ffmpeg that writes samples into a pipe.
type decoder struct {
	cmd    *exec.Cmd
	out    *os.File
	said   *firstLine // for after done
	cancel context.CancelFunc
	done   chan struct{}
	err    error // of the process, for after done
}

// startDecoder runs ffmpeg without a shell. It ends by itself, with ctx or
// with stop; in each case the process is waited for.
func startDecoder(ctx context.Context, exe string, args []string) (*decoder, error) {
	r, w, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	d := &decoder{out: r, said: &firstLine{}, cancel: cancel, done: make(chan struct{})}
	cmd := exec.CommandContext(ctx, exe, args...)
	d.cmd = cmd
	cmd.Stdout, cmd.Stderr = w, d.said
	cmd.WaitDelay = 5 * time.Second
	err = cmd.Start()
	w.Close()
	if err != nil {
		cancel()
		r.Close()
		return nil, fmt.Errorf("running ffmpeg: %w", err)
	}
	go func() {
		d.err = cmd.Wait()
		close(d.done)
	}()
	return d, nil
}

// read fills b with whole frames and gives how many bytes they are; fewer
// than asked at the end only.
func (d *decoder) read(b []byte, frame int) (int, error) {
	n, err := io.ReadFull(d.out, b)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	return n / frame * frame, err
}

// stop ends the process if it still runs.
func (d *decoder) stop() {
	d.cancel()
	d.out.Close()
	<-d.done
}

// killed tells whether something ended the process from outside. For after
// done.
func (d *decoder) killed() bool {
	var exit *exec.ExitError
	return d.err != nil && (!errors.As(d.err, &exit) || exit.ExitCode() < 0)
}

// decodeArgs are ffmpeg's arguments to decode m from frame from on as
// interleaved 32-bit float.
func (m *mediaInfo) decodeArgs(path string, from int64) []string {
	args := []string{"-nostdin", "-v", "error"}
	if from > 0 {
		us := m.start + (from*1_000_000+int64(m.info.SampleRate)/2)/int64(m.info.SampleRate)
		args = append(args, "-ss", fmt.Sprintf("%d.%06d", us/1_000_000, us%1_000_000))
	}
	args = append(args, inputArgs(path)...)
	if len(m.tracks) == 1 {
		args = append(args, "-map", fmt.Sprintf("0:%d", m.tracks[0].index), "-af", keepTime(from))
	} else {
		args = append(args, "-filter_complex", m.join(from), "-map", "[all]")
	}
	return append(args, "-c:a", "pcm_f32le", "-ar", fmt.Sprint(m.info.SampleRate), "-f", "f32le", "pipe:1")
}

// keepTime is the filter that keeps sound where its time stamps say: what is
// missing for more than 0.1 s (packets that can't be decoded) becomes silence,
// so that nothing behind it moves. It touches no sample else.
func keepTime(from int64) string {
	if from > 0 {
		return "aresample=async=1:first_pts=0"
	}
	return "aresample=async=1"
}

// join is the filter that lays several streams side by side. Each is split
// into single channels first, since amerge sorts the channels of inputs whose
// layouts differ; the shorter are made as long as the longest, since it ends
// with the first that ends.
func (m *mediaInfo) join(from int64) string {
	var graph, names strings.Builder
	length := m.info.Frames - from
	for i, t := range m.tracks {
		fmt.Fprintf(&graph, "[0:%d]%s,", t.index, keepTime(from))
		if late := perSample(t.start-m.origin, m.info.SampleRate) - from; late > 0 {
			fmt.Fprintf(&graph, "adelay=%dS:all=1,", late)
		}
		fmt.Fprintf(&graph, "apad=whole_len=%d,asplit=%d", max(length, 1), t.channels)
		for c := range t.channels {
			fmt.Fprintf(&graph, "[s%dx%d]", i, c)
		}
		graph.WriteString(";")
		for c := range t.channels {
			fmt.Fprintf(&graph, "[s%dx%d]pan=mono|c0=c%d[m%dx%d];", i, c, c, i, c)
			fmt.Fprintf(&names, "[m%dx%d]", i, c)
		}
	}
	return fmt.Sprintf("%s%samerge=inputs=%d[all]", graph.String(), names.String(), m.info.Channels)
}
