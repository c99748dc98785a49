// Command rushlight makes a story bank of interview recordings and their
// transcripts, and hands on selects, stringouts and subtitles.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

// version is set when the program is built.
var version = "unknown"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], terminal{in: os.Stdin, out: os.Stdout, err: os.Stderr}))
}
