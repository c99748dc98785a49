package desk

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// Output is where a job writes a file. A Path of "-" is Stdout.
type Output struct {
	Path   string
	Force  bool
	Stdout io.Writer
	// kept are files that nothing is written over, not even with Force: the
	// recordings and transcripts that a bank knows, and the bank itself.
	kept []string
	// sound tells that sound is written, so that older sound may be replaced.
	sound bool
}

// check refuses a path that holds something already, or whose folder isn't
// there, before any work is done.
func (o Output) check() error {
	switch {
	case o.Path == "":
		return usage("for example -o cut.edl, or -o - for the terminal", "no file to write to")
	case o.Path == "-":
		return nil
	}
	info, err := os.Stat(o.Path)
	switch {
	case err == nil && info.IsDir():
		return usage("give the name of a file in it", "%s is a folder", o.Path)
	case err == nil && !info.Mode().IsRegular():
		return refuse("give the name of a file, or -o - for the terminal", "%s is no file but a pipe, socket or device", o.Path)
	case err == nil && !o.Force:
		return refuse("choose another name, or --force to write over it", "%s exists already", o.Path)
	case err == nil:
		if err := o.spare(info); err != nil {
			return err
		}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return &Problem{What: "can't write " + o.Path, Err: err}
	}
	if _, err := os.Lstat(o.Path); err == nil && info == nil {
		return refuse("remove the link, or choose another name", "%s is a link to nothing", o.Path)
	}
	if dir := filepath.Dir(o.Path); !exists(dir) {
		return refuse("make the folder first", "no folder %s", dir)
	}
	return nil
}

// spare refuses to write over source media and over a bank.
func (o Output) spare(info os.FileInfo) error {
	for _, path := range o.kept {
		if k, err := os.Stat(path); err == nil && os.SameFile(k, info) {
			return refuse("choose another name", "%s is read here, or belongs to the bank: it is never written over", o.Path)
		}
	}
	if o.sound {
		return nil
	}
	f, err := os.Open(o.Path)
	if err != nil {
		return &Problem{What: "can't look at " + o.Path, Err: err}
	}
	defer f.Close()
	var head [4]byte
	_, _ = io.ReadFull(f, head[:])
	switch string(head[:]) {
	case "RIFF", "RF64", "BW64":
		return refuse("choose another name", "%s is a recording: it is never written over", o.Path)
	case "SQLi":
		return refuse("choose another name", "%s is a bank: it is never written over", o.Path)
	}
	return nil
}

// guard gives an output the files that it must not write over.
func (d *Desk) guard(ctx context.Context, o Output) (Output, error) {
	recs, err := d.recordings(ctx)
	if err != nil {
		return o, err
	}
	o.kept = append(o.kept, filepath.Join(d.Dir(), "bank.db"))
	for _, r := range recs {
		for _, path := range []string{r.Path, r.Transcript.Path} {
			if path != "" {
				o.kept = append(o.kept, path)
			}
		}
	}
	return o, nil
}

// write makes the file whole or not at all: what fill writes goes to a file
// beside it, which takes the name once everything is on the disk.
func (o Output) write(fill func(io.Writer) error) error {
	if err := o.check(); err != nil {
		return err
	}
	if o.Path == "-" {
		w := bufio.NewWriter(o.Stdout)
		if err := fill(w); err != nil {
			return err
		}
		return w.Flush()
	}
	return o.writeFile(func(f *os.File) error {
		w := bufio.NewWriter(f)
		if err := fill(w); err != nil {
			return err
		}
		return w.Flush()
	})
}

// writeFile is write for what must go back in the file while it is written.
// A link stays: what it points to is written.
func (o Output) writeFile(fill func(*os.File) error) error {
	if err := o.check(); err != nil {
		return err
	}
	path := o.Path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	temp, err := os.CreateTemp(filepath.Dir(path), ".rushlight-*")
	if err != nil {
		return &Problem{What: "can't write beside " + path, Hint: "check who may write to that folder", Err: err}
	}
	defer os.Remove(temp.Name())
	err = fill(temp)
	if err == nil {
		err = temp.Chmod(0o644)
	}
	if err == nil {
		err = temp.Sync()
	}
	if closeErr := temp.Close(); err == nil {
		err = closeErr
	}
	if errors.Is(err, syscall.ENOSPC) {
		return &Problem{What: "can't write " + o.Path, Hint: "make room on the disk, or write to another one; nothing was left behind", Err: err}
	}
	if err != nil {
		return fmt.Errorf("can't write %s: %w", o.Path, err)
	}
	return os.Rename(temp.Name(), path)
}
