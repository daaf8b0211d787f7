# What one can do here. Each target is a line or two that also work by hand; .ci/run calls the same targets.
VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo dev)
# Inlining costs a tenth of the page, so that only what runs for every line, fits a model or compares is compiled with it, and what
# manages memory: there it costs 6 kB and takes a twentieth off an edit.
HOT     := runtime $(addprefix internal/,abi bytealg byteorder $(addprefix runtime/,atomic gc maps math sys)) encoding/binary unicode/utf8 bytes bufio math math/bits \
           $(addprefix lastbeacon/core/,clock geo ax25 aprs intake evidence motion schedule endurance compare estimate)
INLINED := -gcflags=all=-l $(HOT:%=-gcflags=%=)
PROFILE := wasm/default.pgo
WASM    := GOOS=js GOARCH=wasm go build -trimpath -ldflags "-s -w -X main.Version=$(VERSION)" $(INLINED)
GO_SRC  := $(shell find core wasm -name '*.go' -not -name '*_test.go') $(PROFILE) go.mod go.sum

# Native tests take the zones of the Go release, which are those embedded in the engine, not the machine's.
export ZONEINFO := $(shell go env GOROOT)/lib/time/zoneinfo.zip

.PHONY: all demo test test-go test-web test-browser page types golden fuzz soak bench profile coverage measure audit size pictures clean chromium

all: page

# The main job on the embedded example, through the real engine.
demo: page
	node dist/lastbeacon.mjs --bench testdata/example/bench.json $(sort $(wildcard testdata/example/*.log testdata/example/*.gpx))
	@echo; echo "The page: $(CURDIR)/dist/lastbeacon.html"

test: test-go page test-web test-browser

test-go:
	go vet ./...
	go test -tags noasm ./...

# Page logic, and the shipped engine under Node against the native one.
test-web: page
	cd web && npm test

test-browser: page chromium
	cd web && npm run test:browser

page: dist/lastbeacon.html

dist/engine.wasm: $(GO_SRC) Makefile
	@mkdir -p dist
	$(WASM) -o $@ ./wasm

web/node_modules/.package-lock.json: web/package-lock.json
	cd web && npm ci --ignore-scripts --no-fund --no-audit
	@touch $@

dist/lastbeacon.html: dist/engine.wasm web/node_modules/.package-lock.json $(shell find web -not -path '*/node_modules*' -type f) $(wildcard testdata/example/*)
	cd web && node build.mjs

# Generated types and golden files, after a change that is meant.
types:
	go test ./core -run GeneratedTypes -update

golden:
	go test -tags noasm ./core/session ./core/intake -run Golden -update

# Every fuzz target for FUZZTIME each.
FUZZTIME ?= 20s
fuzz:
	@for room in $$(go list ./core/...); do for target in $$(go test -tags noasm -list '^Fuzz' $$room | grep '^Fuzz'); do \
	  echo "$$room $$target"; go test -tags noasm -run '^$$' -fuzz "^$$target$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 2s $$room || exit 1; done; done

# Random sequences of page actions, held against fresh analyses; a short run of them is in test-browser.
SEQUENCES ?= 1000
SEED ?= 1
soak: page chromium
	cd web && nice node test/soak/soak.mjs $(SEQUENCES) $(SEED)

# Ratios of this engine and its peers in one run; never part of the tests. The decoder alone is compiled like the engine.
bench: page chromium
	GOOS=js GOARCH=wasm go test -c -trimpath -pgo $(PROFILE) $(INLINED) -o dist/decoder.wasm ./core/aprs
	cd web && npm run bench

# Where the time goes in decoding, natively: what is hot there the compiler inlines in the engine, too.
profile:
	@mkdir -p dist
	go test -tags noasm -run '^$$' -bench '^BenchmarkDecode$$' -cpu 1 -benchtime 10s -cpuprofile $(CURDIR)/$(PROFILE) -o dist/decoding.test ./core/aprs

# How often the claimed intervals hold the truth, stage by stage and over whole reports; tables for DEVELOPERS.md.
coverage:
	nice go test -tags 'noasm measure' -timeout 120m -run 'Coverage|Benches' -v ./core/endurance ./core/compare ./core/outlook ./core/session

# How often motion and schedules are recognised, on journeys and units made up with seeds of their own.
CASES ?= 600
measure:
	nice go test -tags 'noasm measure' -timeout 60m -run Measure -v ./core/motion
	SCHEDULE_CASES=$(CASES) nice go test -tags noasm -timeout 60m -run TestIdentification -v ./core/schedule

# Known vulnerabilities in what the engine calls. The database comes through the module proxy like every module, so that no other
# host is asked; npm's own list needs a registry that answers its audit endpoint.
VULNDB := golang.org/x/vulndb
audit:
	@rm -rf dist/vulndb && mkdir -p dist
	go run $(VULNDB)/cmd/indexdb@latest -vulns "$$(go mod download -json $(VULNDB)@latest | sed -n 's/.*"Dir": "\(.*\)",/\1/p')/data/osv" -out dist/vulndb
	go run -exec "env GOOS=js GOARCH=wasm" golang.org/x/vuln/cmd/govulncheck@latest -db "file://$(CURDIR)/dist/vulndb" ./wasm
	-cd web && npm audit --omit=dev

size: page
	cd web && npm run size

pictures: page chromium
	cd web && npm run pictures

# Debian's Chromium, for the browser tests.
chromium:
	@command -v chromium >/dev/null || (apt-get update -qq && apt-get install -y -qq chromium)

clean:
	rm -rf dist web/node_modules
