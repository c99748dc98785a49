//go:build unix

package index

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"iter"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	_ "modernc.org/sqlite" // FTS5, the peer

	"rushlight/pkg/story"
)

// benchSize is the number of quotes, of 20 words each: 100,000, or a million
// with RUSHLIGHT_SLOW=1.
func benchSize() int {
	if os.Getenv("RUSHLIGHT_SLOW") != "" {
		return 1_000_000
	}
	return 100_000
}

// benchVocabulary makes words as long as English ones, the frequent shorter.
func benchVocabulary() []string {
	syllables := []string{
		"ba", "re", "to", "ni", "sel", "mar", "o", "lin", "der", "fo", "wa", "ste", "bri", "cho", "an", "tle",
		"ring", "ger", "pu", "vi", "ka", "mon", "es", "tra", "hol", "y", "qui", "zan",
	}
	seen := map[string]bool{}
	r := rand.New(rand.NewPCG(9, 10))
	var words []string
	for len(words) < 60_000 {
		n := 1 + r.IntN(2)
		if len(words) > 200 {
			n = 2 + r.IntN(3)
		}
		w := ""
		for range n {
			w += syllables[r.IntN(len(syllables))]
		}
		if !seen[w] && len(w) > 1 {
			seen[w] = true
			words = append(words, w)
		}
	}
	return words
}

// benchQuotes makes n quotes whose words are as frequent as in talk (Zipf,
// exponent 1.05); reels have 1,000 quotes. The same every time.
func benchQuotes(n int) iter.Seq2[story.Quote, error] {
	words := benchVocabulary()
	return func(yield func(story.Quote, error) bool) {
		r := rand.New(rand.NewPCG(11, 12))
		z := rand.NewZipf(r, 1.05, 8, uint64(len(words)-1))
		var b strings.Builder
		for k := range n {
			b.Reset()
			for range 20 {
				b.WriteString(words[z.Uint64()])
				b.WriteByte(' ')
			}
			q := story.Quote{
				Code: story.Code(fmt.Sprintf("%07d", k)), Reel: fmt.Sprintf("R%05d", k/1000), Order: k % 1000,
				Speaker: []string{"Ines Corrigan", "Joss Adeyemi", "Wilf Tranter"}[k%3], Language: "en", Text: b.String(),
			}
			if !yield(q, nil) {
				return
			}
		}
	}
}

func cpu() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// median runs f n times.
func median(n int, f func()) time.Duration {
	var took []time.Duration
	for range n {
		began := time.Now()
		f()
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	return took[n/2]
}

func folderSize(b *testing.B, dir string) (size int64) {
	if err := filepath.WalkDir(dir, func(_ string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			var i fs.FileInfo
			if i, err = e.Info(); err == nil {
				size += i.Size()
			}
		}
		return err
	}); err != nil {
		b.Fatal(err)
	}
	return size
}

// BenchmarkPeers builds and searches the same quotes here and in SQLite's
// FTS5 (modernc.org/sqlite, on disk, bm25), in one run.
func BenchmarkPeers(b *testing.B) {
	n := benchSize()
	fts, ftsCPU, raw := benchFTS(b, n)
	dir := filepath.Join(b.TempDir(), "index")
	before := cpu()
	if err := Build(context.Background(), dir, "bank", 1, benchQuotes(n), nil); err != nil {
		b.Fatal(err)
	}
	oursCPU := cpu() - before
	made := cpu()
	for _, err := range benchQuotes(n) {
		if err != nil {
			b.Fatal(err)
		}
	}
	made = cpu() - made // making the quotes counts for neither
	oursCPU, ftsCPU = oursCPU-made, ftsCPU-made
	size := folderSize(b, dir)
	benchRow("%d quotes, %d MB of text", n, raw>>20)
	benchRow("build: %.1f s of CPU, FTS5 %.1f s: %.2f times", oursCPU.Seconds(), ftsCPU.Seconds(), oursCPU.Seconds()/ftsCPU.Seconds())
	benchRow("index: %d MB, %.2f times the text", size>>20, float64(size)/float64(raw))
	i, err := Open(dir)
	if err != nil {
		b.Fatal(err)
	}
	defer i.Close()
	search := func(q Query) (total int) {
		res, err := i.Search(context.Background(), q)
		if err != nil {
			b.Fatal(err)
		}
		return res.Total
	}
	words := benchVocabulary()
	for _, rank := range []int{3, 30, 300} {
		w := words[rank]
		total := search(Query{Text: w})
		ours := median(15, func() { search(Query{Text: w}) })
		theirs := median(5, func() { ftsSearch(b, fts, w) })
		benchRow("word in %.1f %% of quotes: %v, FTS5 %v: %.3f", 100*float64(total)/float64(n), ours, theirs, ours.Seconds()/theirs.Seconds())
	}
	two := words[30] + " " + words[300]
	for name, q := range map[string]Query{
		"two words": {Text: two}, "two words, smooth": {Text: two, Smooth: true},
		"two words, folded": {Text: two, Fold: true},
	} {
		benchRow("%s: %v", name, median(5, func() { search(q) }))
	}
	benchRow("like: %v", median(5, func() {
		if _, err := i.Like(context.Background(), "0004242", LikeOptions{}); err != nil {
			b.Fatal(err)
		}
	}))
	benchRow("takes: %v", median(5, func() {
		if _, err := i.Takes(context.Background(), "0004242"); err != nil {
			b.Fatal(err)
		}
	}))
	b.ReportMetric(oursCPU.Seconds()/ftsCPU.Seconds(), "build/FTS5")
	b.ReportMetric(float64(size)/float64(raw), "index/text")
}

// benchRow prints at once: the log of a benchmark is cut short.
func benchRow(format string, args ...any) {
	fmt.Fprintf(os.Stdout, "  "+format+"\n", args...)
}

// benchFTS builds the peer's index.
func benchFTS(b *testing.B, n int) (db *sql.DB, spent time.Duration, raw int64) {
	db, err := sql.Open("sqlite", filepath.Join(b.TempDir(), "fts.db")+"?_pragma=journal_mode(WAL)&_pragma=synchronous(NORMAL)")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = db.Close() })
	exec := func(s string) {
		if _, err := db.Exec(s); err != nil {
			b.Fatal(err)
		}
	}
	exec("CREATE VIRTUAL TABLE q USING fts5(text, code UNINDEXED)")
	before := cpu()
	tx, err := db.Begin()
	if err != nil {
		b.Fatal(err)
	}
	insert, err := tx.Prepare("INSERT INTO q(text, code) VALUES (?, ?)")
	if err != nil {
		b.Fatal(err)
	}
	for q, err := range benchQuotes(n) {
		if err == nil {
			_, err = insert.Exec(q.Text, string(q.Code))
		}
		if err != nil {
			b.Fatal(err)
		}
		raw += int64(len(q.Text))
	}
	if err := tx.Commit(); err != nil {
		b.Fatal(err)
	}
	return db, cpu() - before, raw
}

func ftsSearch(b *testing.B, db *sql.DB, word string) {
	rows, err := db.Query("SELECT code, bm25(q) FROM q WHERE q MATCH ? ORDER BY rank LIMIT 20", word)
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var code string
		var score float64
		if err := rows.Scan(&code, &score); err != nil {
			b.Fatal(err)
		}
	}
	if err := rows.Err(); err != nil {
		b.Fatal(err)
	}
}
