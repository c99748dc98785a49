package index

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"strings"

	"github.com/blevesearch/bleve/v2/index/scorch"
	bleveindex "github.com/blevesearch/bleve_index_api"

	"rushlight/pkg/story"
)

// Build makes a new generation from all quotes of a bank in the given state
// and switches to it; readers use the old one until then. progress, if not
// nil, is called every 1,000 quotes. Each code must come once. An error from
// quotes, or a done ctx, leaves everything as it was.
func Build(ctx context.Context, dir, bankID string, state int64, quotes iter.Seq2[story.Quote, error], progress func(done int)) error {
	w, err := newWriter(ctx, dir)
	if err != nil {
		return fmt.Errorf("build index: %w", err)
	}
	defer w.close()
	if err := w.build(ctx, quotes, progress); err != nil {
		return fmt.Errorf("build index: %w", err)
	}
	if err := w.finish(bankID, state); err != nil {
		return fmt.Errorf("build index: %w", err)
	}
	return nil
}

// partBytes is how much memory the postings of a segment may take: it is
// written then, after some 300,000 quotes. Several are merged in the end.
const partBytes = 64 << 20

func (w *writer) build(ctx context.Context, quotes iter.Seq2[story.Quote, error], progress func(done int)) error {
	p, err := newParts(w.work, partBytes)
	if err != nil {
		return err
	}
	defer p.abandon()
	var docs documents
	done := 0
	for q, err := range quotes {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return err
		}
		s, err := p.next()
		if err != nil {
			return err
		}
		if err := docs.into(s, q); err != nil {
			return err
		}
		if docs.ledger.dead > 0 {
			return fmt.Errorf("quote %s comes twice", q.Code)
		}
		if done++; progress != nil && done%1000 == 0 {
			progress(done)
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if done == 0 {
		// There is no segment of nothing.
		if err := w.change(&docs, nil, nil); err != nil {
			return err
		}
	} else if err := p.finish(ctx); err != nil {
		return err
	}
	if err := p.remove(); err != nil {
		return err
	}
	return w.addColumns(&docs.ledger)
}

// Update makes a new generation from the last one: changed quotes are put in
// place of those with their codes or added, those in gone taken out. The
// unchanged files are shared (hard links), so a small change is cheap, and
// readers see either all of it or nothing. ErrNone if there is no usable
// generation of this bank: Build one. If another process already brought the
// index to state or beyond, nothing is done.
func Update(ctx context.Context, dir, bankID string, state int64, changed []story.Quote, gone []story.Code) error {
	if err := update(ctx, dir, bankID, state, changed, gone); err != nil {
		return fmt.Errorf("update index: %w", err)
	}
	return nil
}

func update(ctx context.Context, dir, bankID string, state int64, changed []story.Quote, gone []story.Code) error {
	w, err := newWriter(ctx, dir)
	if err != nil {
		return err
	}
	defer w.close()
	old, s, err := latest(dir)
	if err != nil {
		return err
	}
	if s.Bank != bankID {
		return fmt.Errorf("%s shadows another bank: %w", dir, ErrNone)
	}
	if s.State >= state {
		return nil
	}
	if err := share(old, w.work); err != nil {
		return err
	}
	var docs documents
	if err := docs.ledger.takeFrom(filepath.Join(old, columnsName), gone); err != nil {
		return err
	}
	if err := w.change(&docs, changed, gone); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := w.addColumns(&docs.ledger); err != nil {
		return err
	}
	return w.finish(bankID, state)
}

// change applies one batch to the index in the work folder.
func (w *writer) change(docs *documents, changed []story.Quote, gone []story.Code) error {
	queue := bleveindex.NewAnalysisQueue(1)
	defer queue.Close()
	idx, err := scorch.NewScorch(scorch.Name, map[string]any{
		"path": w.work, "bolt_timeout": boltTimeout, "numSnapshotsToKeep": 1,
	}, queue)
	if err != nil {
		return err
	}
	if err := idx.Open(); err != nil {
		return err
	}
	batch := bleveindex.NewBatch()
	for _, code := range gone {
		batch.Delete(string(code))
	}
	for _, q := range changed {
		doc, err := docs.of(q)
		if err != nil {
			_ = idx.Close()
			return err
		}
		batch.Update(doc)
	}
	if err := idx.Batch(batch); err != nil {
		_ = idx.Close()
		return err
	}
	return idx.Close()
}

// addColumns writes the columns of the finished index in the work folder.
func (w *writer) addColumns(l *ledger) error {
	idx, err := openScorch(w.work)
	if err != nil {
		return err
	}
	reader, err := idx.Reader()
	if err != nil {
		_ = idx.Close()
		return err
	}
	err = makeColumns(l, reader, filepath.Join(w.work, columnsName))
	return errors.Join(err, reader.Close(), idx.Close())
}

// openScorch opens a complete index for reading.
func openScorch(path string) (bleveindex.Index, error) {
	// bolt would make a file that is missing.
	if _, err := os.Stat(filepath.Join(path, "root.bolt")); err != nil {
		return nil, err
	}
	idx, err := scorch.NewScorch(scorch.Name, map[string]any{
		"path": path, "read_only": true, "bolt_timeout": boltTimeout,
	}, nil)
	if err != nil {
		return nil, err
	}
	if err := idx.Open(); err != nil {
		return nil, err
	}
	return idx, nil
}

// share puts the segment files of a generation into another folder without
// copying them where the file system allows it, and copies root.bolt, which
// the next batch changes.
func share(from, to string) error {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	for _, e := range entries {
		src, dst := filepath.Join(from, e.Name()), filepath.Join(to, e.Name())
		switch {
		case strings.HasSuffix(e.Name(), ".zap"):
			if os.Link(src, dst) == nil {
				continue
			}
		case e.Name() != "root.bolt":
			continue
		}
		if err := copyFile(src, dst); err != nil {
			return err
		}
	}
	return nil
}

func copyFile(src, dst string) error {
	in, err := os.Open(src)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(dst)
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		_ = out.Close()
		return err
	}
	return out.Close()
}
