// Command rushlight makes a story bank of interview recordings and their
// transcripts, and hands on selects, stringouts and subtitles.
package main

import (
	"context"
	"io"
	"log"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
)

// version is set when the program is built by make.
var version = ""

// versionName says which program this is: as make named it, else as the Go
// tool did.
func versionName() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "unknown"
}

func main() {
	log.SetOutput(io.Discard) // libraries say what nobody asked for
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], terminal{in: os.Stdin, out: os.Stdout, err: os.Stderr}))
}
