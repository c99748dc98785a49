package listen

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"rushlight/pkg/sound"
)

// syncShoot is a shoot in double-system sound: recorder reels, and cameras of
// which the first two were beside the recorder, the others elsewhere.
type syncShoot struct {
	reels, cameras []string // files
	lies           []syncLie
}

// syncLie is how a camera lies on a reel, by their places in the shoot.
type syncLie struct {
	camera, reel int
	offset, ppm  float64
}

// makeSyncShoot writes a shoot of 48 kHz, 24 bit, mono: Debian's voices in five
// languages, no saying in two talks, in rooms, with noise 20 dB (cameras: 10 dB)
// under the talk. Reels last so many seconds, cameras half as long.
func makeSyncShoot(t testing.TB, dir string, reels, cameras int, seconds float64) syncShoot {
	t.Helper()
	var clips []clip
	for _, l := range []string{"en", "es", "fr", "it", "ru"} {
		clips = append(clips, voices(t, l, 1, 600)...)
	}
	r := rand.New(rand.NewPCG(91, 7))
	r.Shuffle(len(clips), func(i, j int) { clips[i], clips[j] = clips[j], clips[i] })
	const rate = 8000
	talks := reels + max(0, cameras-2)
	talk := func(k int, seconds float64) []float64 {
		own := clips[k*len(clips)/talks : (k+1)*len(clips)/talks]
		return syncTalk(r, own, rate, seconds)
	}
	s := syncShoot{lies: []syncLie{{0, reels / 4, seconds / 5, 40}, {1, reels * 3 / 4, -seconds / 10, -25}}}
	heard := func(x []float64, rt, direct, snr float64) []float64 {
		return syncNoise(r, syncConvolve(x, syncRoom(r, rate, rt, direct)), snr)
	}
	for i := range reels {
		before := 0.0
		for _, l := range s.lies {
			if l.reel == i {
				before = max(0, -l.offset)
			}
		}
		x := talk(i, before+seconds)
		name := filepath.Join(dir, fmt.Sprintf("R%02d.wav", i+1))
		at := int(before * rate)
		writeShot(t, name, "recorder", syncResample(heard(x, 0.3, 0, 20)[at:], 0, 1./6, int(seconds*48000)))
		s.reels = append(s.reels, name)
		for _, l := range s.lies {
			if l.reel == i {
				name := filepath.Join(dir, fmt.Sprintf("CAM%d.wav", l.camera+1))
				writeShot(t, name, "", syncResample(heard(x, 0.7, -3, 10), (before+l.offset)*rate, 1/(6*(1+l.ppm/1e6)), int(seconds/2*48000)))
			}
		}
	}
	for i := range cameras {
		name := filepath.Join(dir, fmt.Sprintf("CAM%d.wav", i+1))
		if i >= len(s.lies) {
			x := talk(reels+i-len(s.lies), seconds/2)
			writeShot(t, name, "", syncResample(heard(x, 0.7, -3, 10), 0, 1./6, int(seconds/2*48000)))
		}
		s.cameras = append(s.cameras, name)
	}
	return s
}

// writeShot writes a file of a recorder that signs what it writes, or of a camera.
func writeShot(t testing.TB, path, originator string, x []float64) {
	t.Helper()
	var top float64
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	g := min(1, 0.9/top)
	for i := range x {
		x[i] *= g
	}
	opt := sound.WriterOptions{SampleRate: 48000, Channels: 1, Bits: 24}
	if originator != "" {
		opt.Broadcast = &sound.Broadcast{Originator: originator}
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	w, err := sound.NewWriter(f, opt)
	if err == nil {
		for part := range slices.Chunk(x, 1<<16) {
			err = errors.Join(err, w.Write([][]float64{part}))
		}
		err = errors.Join(err, w.Close(), f.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
}
