# sill: everything a contributor or a newcomer runs. `make help` lists it.
SHELL := /bin/bash
.DEFAULT_GOAL := help
GO ?= go
BIN := .build/sill
DEMO := .build/demo
TOOL := $(GO) tool -modfile=.ci/tools.mod

.PHONY: help build run tour docs test race lint recipes mutants check golden calibrate fuzz bench clean

help: ## list the targets
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

build: ## build the program at .build/sill
	@mkdir -p .build
	$(GO) build -o $(BIN) ./cmd/sill

run: build ## demo league → published table and its headline
	@test -f $(DEMO)/truth.json || $(BIN) demo --dir $(DEMO) --force
	$(BIN) run --config $(DEMO)/sill.yaml

tour: build ## a season, the next one added, a second league; what changed and what holds there
	$(BIN) demo --dir .build/tour --seasons 2 --force
	$(BIN) demo --dir .build/tour-second --league second --force
	$(BIN) run --config .build/tour/sill.yaml --input .build/tour/season=2031
	$(BIN) run --config .build/tour/sill.yaml
	$(BIN) run --config .build/tour-second/sill.yaml
	$(BIN) diff v1.0.0 v1.1.0 --league lantern
	$(BIN) trend lantern --from 2031 --to 2032
	$(BIN) trial --of lantern --league kestrel --brief

test: ## all tests that Go and make alone can run
	$(GO) test -timeout 30m $(TESTFLAGS) ./...

# The demo, the command line and the studies share no state between goroutines of their own.
race: ## the short tests under the race detector (needs a C compiler)
	CGO_ENABLED=1 $(GO) test -race -short $$($(GO) list ./... | grep -vE '/(demo|cmd/sill|pipeline/calibrate)$$')

lint: ## gofmt, vet and golangci-lint
	@test -z "$$(gofmt -l cmd config pipeline stats | tee /dev/stderr)"
	$(GO) vet ./...
	$(TOOL) golangci-lint run ./...

recipes: ## follow each recipe of DEVELOPERS.md on a copy and see its tests pass
	bash .ci/recipe

mutants: ## apply each committed fault to a copy and see its test fail
	bash .ci/mutate

check: ## exactly what CI runs
	bash .ci/run

golden: build ## write the golden files anew; read the diff line by line
	SILL_GOLDEN=1 $(GO) test ./cmd/sill ./pipeline/render/screen
	SILL_GOLDEN=1 $(GO) test ./pipeline/publish -run Golden
	SILL_GOLDEN=1 $(GO) test ./pipeline/thresholds -run 'Consumer|ColumnsOfEverySchema'
	@test -f $(DEMO)/truth.json || $(BIN) demo --dir $(DEMO) --force
	@chmod -R u+w .build/golden 2>/dev/null || true; rm -rf .build/golden
	$(BIN) run --config $(DEMO)/sill.yaml --output .build/golden >/dev/null
	cd .build/golden/lantern/v1.0.0 && find . -type f -printf '%P\n' | grep -vxE 'SHA256SUMS|manifest.json|provenance.intoto.json' | LC_ALL=C sort | xargs sha256sum >$(CURDIR)/.ci/demo.sha256
	$(BIN) plot four_seam velocity --store .build/golden --out testdata/pictures/four_seam-velocity-whiff_rate.png --force
	$(BIN) plot four_seam velocity --overlay --width 800px --store .build/golden --out testdata/pictures/four_seam-velocity-whiff_rate-sides.png --force
	$(BIN) plot four_seam velocity --outcome joint --size slide --store .build/golden --out testdata/pictures/four_seam-velocity-joint-slide.png --force
	$(BIN) plot slider velocity --width 800px --store .build/golden --out testdata/pictures/slider-velocity-whiff_rate.png --force

calibrate: ## rerun the simulations behind every interval; about an hour (ONLY=study for one)
	$(GO) run ./cmd/calibrate -only "$(ONLY)"

fuzz: ## fuzz each target for FUZZTIME (default 30s)
	@for d in $$(grep -rlE '^func Fuzz' --include=*_test.go cmd config pipeline stats | xargs -n1 dirname | sort -u); do \
	  for f in $$(grep -hoE '^func Fuzz[A-Za-z0-9_]*' $$d/*_test.go | sed 's/func //'); do \
	    echo "$$d $$f"; $(GO) test ./$$d -run '^$$' -fuzz "^$$f$$" -fuzztime $${FUZZTIME:-30s} || exit 1; done; done

bench: ## benchmarks, ten runs each, into .build/bench.txt; compare with BASE=file
	@mkdir -p .build
	$(GO) test -run '^$$' -bench . -benchmem -count $${COUNT:-10} ./... | tee .build/bench.txt
	$(TOOL) benchstat $(BASE) .build/bench.txt

clean: ## remove what was built, and the demo leagues' versions
	@chmod -R u+w .build outputs/lantern outputs/kestrel 2>/dev/null || true
	rm -rf .build outputs/lantern outputs/kestrel
