package index

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/RoaringBitmap/roaring/v2"
	"github.com/blevesearch/bleve/v2/index/scorch"
	segmentapi "github.com/blevesearch/scorch_segment_api/v2"
	zap "github.com/blevesearch/zapx/v17"
)

// parts writes the segments of a new index and joins them to one.
type parts struct {
	dir   string // of the index
	most  int    // bytes of postings in a segment
	paths []string
	open  *segment
}

// partsName is the folder in the index for what is not finished.
const partsName = "parts"

func newParts(dir string, most int) (*parts, error) {
	return &parts{dir: dir, most: most}, os.Mkdir(filepath.Join(dir, partsName), 0o777)
}

// next gives the segment for the next quote.
func (p *parts) next() (*segment, error) {
	if p.open != nil && p.open.bytes >= p.most {
		if err := p.end(); err != nil {
			return nil, err
		}
	}
	if p.open == nil {
		path := filepath.Join(p.dir, partsName, fmt.Sprintf("%d.zap", len(p.paths)))
		s, err := newSegment(path)
		if err != nil {
			return nil, err
		}
		p.open, p.paths = s, append(p.paths, path)
	}
	return p.open, nil
}

func (p *parts) end() error {
	err := p.open.finish()
	if err != nil {
		p.open.abandon()
	}
	p.open = nil
	return err
}

// abandon gives free what finish did not.
func (p *parts) abandon() {
	if p.open != nil {
		p.open.abandon()
	}
}

// finish ends the last segment, joins all and makes the index of the result.
// There is at least one quote.
func (p *parts) finish(ctx context.Context) error {
	if err := p.end(); err != nil {
		return err
	}
	whole := p.paths[0]
	if len(p.paths) > 1 {
		whole = filepath.Join(p.dir, partsName, "whole.zap")
		if err := mergeSegments(ctx, p.paths, whole); err != nil {
			return err
		}
	}
	return p.frame(whole)
}

// remove removes what is not needed any more.
func (p *parts) remove() error { return os.RemoveAll(filepath.Join(p.dir, partsName)) }

// frame makes the index of a finished segment: bleve builds one of a single
// quote, whose segment is then exchanged.
func (p *parts) frame(whole string) error {
	b, err := scorch.NewBuilder(map[string]any{
		"path": p.dir, "buildPathPrefix": filepath.Join(p.dir, partsName),
		"forceSegmentType": zap.Type, "forceSegmentVersion": int(zap.Version),
	})
	if err != nil {
		return err
	}
	if err := b.Index(newQuoteDoc("-")); err != nil {
		return err
	}
	if err := b.Close(); err != nil {
		return err
	}
	made, err := pathsIn(p.dir, func(name string) bool { return strings.HasSuffix(name, ".zap") })
	if err != nil {
		return err
	}
	if len(made) != 1 {
		return fmt.Errorf("%s: %d segments, want 1", p.dir, len(made))
	}
	return os.Rename(whole, made[0])
}

// mergeSegments makes one segment of several, their documents one after the
// other. It stops when ctx is done.
func mergeSegments(ctx context.Context, paths []string, to string) (err error) {
	var plugin zap.ZapPlugin
	var open []segmentapi.Segment
	defer func() {
		for _, s := range open {
			err = errors.Join(err, s.Close())
		}
	}()
	for _, path := range paths {
		s, err := plugin.Open(path)
		if err != nil {
			return err
		}
		open = append(open, s)
	}
	stop := make(chan struct{})
	defer context.AfterFunc(ctx, func() { close(stop) })()
	if _, _, err = plugin.Merge(open, make([]*roaring.Bitmap, len(open)), to, stop, nil); ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}
