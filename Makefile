# Rushlight's build. `make` builds, `make demo` runs the whole job on the
# samples, `make test` passes the tests, `make check` is what a commit needs.

GOFUMPT     := mvdan.cc/gofumpt@v0.12.0
STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.2
VERSION     := $(shell git describe --tags --always --dirty 2>/dev/null || echo unknown)
export CGO_ENABLED ?= 0

.PHONY: build demo test check bench fuzz corpora golden clean

build:
	go build -trimpath -ldflags "-s -w -X main.version=$(VERSION)" -o bin/rushlight ./cmd/rushlight

demo: build
	samples/demo bin/rushlight demo-bank

test:
	go test ./...

# The race detector needs a C compiler; it runs where things happen side by side.
check:
	@unformatted=$$(go run $(GOFUMPT) -l cmd pkg index samples); \
	  if [ -n "$$unformatted" ]; then echo "not formatted (make format):"; echo "$$unformatted"; exit 1; fi
	go vet ./...
	go run $(STATICCHECK) ./...
	go test ./...
	CGO_ENABLED=1 go test -race -short ./pkg/bank ./pkg/desk ./pkg/sound
	CGO_ENABLED=1 go test -race -short -run 'Generations|Readers|Update|Build' ./index
	CGO_ENABLED=1 go test -race -short -run 'Envelope|Clipping|Glance|OddInputs|SynchroniseSame' ./pkg/listen

.PHONY: format
format:
	go run $(GOFUMPT) -w cmd pkg index samples

bench:
	go test -run '^$$' -bench . -benchtime 1x -timeout 60m ./...

# Each fuzz target for FUZZTIME.
FUZZTIME ?= 20s
fuzz:
	@for pkg in $$(go list ./...); do \
	  for target in $$(go test -list '^Fuzz' $$pkg | grep '^Fuzz'); do \
	    echo "$$pkg $$target"; \
	    go test -run '^$$' -fuzz "^$$target$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 100x $$pkg || exit 1; \
	  done; \
	done

# The checks on outside data; their figures go into docs/figures.md.
FIGURES := Corpora|Corpus|Published|Meetings|Suite|Edges|Faults|Turns|SynchroniseBuilt|Strangers|BesideFFmpeg|Peers|Topic|Planted|Telephone|RealVoices|Fold|UAX29|Imsc|Verbs
corpora:
	RUSHLIGHT_SLOW=1 go test -timeout 60m -v -run '$(FIGURES)' ./... 2>&1 | docs/gather-figures

golden:
	@for dir in $$(grep -rl 'flag.Bool("update"' --include='*_test.go' cmd pkg index | xargs -n 1 dirname | sort -u); do \
	  go test ./$$dir -update || exit 1; \
	done
	git diff --stat

clean:
	rm -rf bin demo-bank
