package bank

import (
	"context"
	"database/sql"
	"fmt"
)

// ready is a query that was prepared before it is needed.
type ready struct {
	query string
	stmt  *sql.Stmt // nil: none
}

// Prepare makes ready for reading n quotes by their codes, up to 200, while it
// isn't known yet which. It may be left out. Not beside other calls.
func (b *Bank) Prepare(ctx context.Context, n int) error {
	if n < 1 || n > codeBatch || b.ready.stmt != nil {
		return nil
	}
	query := quoteSQL + byCode(n)
	stmt, err := b.db.PrepareContext(ctx, query)
	if err != nil {
		return fmt.Errorf("read quotes: %w", fault(err))
	}
	b.ready = ready{query, stmt}
	return nil
}

func (r *ready) close() error {
	if r.stmt == nil {
		return nil
	}
	return r.stmt.Close()
}

// readyTx is a transaction that knows a query already.
type readyTx struct {
	*sql.Tx
	ready ready
}

// QueryContext runs a query, the one that is ready without reading it again.
func (r readyTx) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	if r.ready.stmt != nil && query == r.ready.query {
		return r.StmtContext(ctx, r.ready.stmt).QueryContext(ctx, args...)
	}
	return r.Tx.QueryContext(ctx, query, args...)
}
