# gristmark: the commands of everyday work. `make demo` and `make test` need nothing but Go:
# they install the missing system packages themselves.

SHELL := /usr/bin/env bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := build

PYTHON ?= /usr/bin/python3
STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.2
SEEDS ?= reporting
SHORT ?=
ACCURACY ?=
SOAK ?=
BATCH ?=
export PYTHON

.PHONY: build demo demo-web setup test test-leak test-all lint samples samples-check accuracy bench soak readme cover clean

build: ## builds bin/gristmark
	go build -o bin/gristmark ./cmd/gristmark

setup: ## installs the missing system packages to build with
	@scripts/setup.sh build

demo: setup build ## measures the sample photos of both settings
	@scripts/demo.sh

demo-web: setup build ## serves an invented harvest, drawn and measured on this machine, on http://127.0.0.1:8470
	@bin/gristmark serve --demo --data build/demo-web --listen 127.0.0.1:8470

test: ## vet, every test, no leaked Mat
	@scripts/test.sh

test-leak: ## the tests of vision and calib, counting open Mats
	go test -tags matprofile ./vision/... ./calib/...

test-all: ## fuzzing, race detector, reproducible samples, linters
	@scripts/test-all.sh

lint: ## gofmt, vet, staticcheck, import directions
	@unformatted="$$(gofmt -l $$(find . -name '*.go' -not -path './.cache/*' -not -path './build/*'))"; \
	if [[ -n "$$unformatted" ]]; then echo "gofmt: run gofmt -w on:" >&2; echo "$$unformatted" >&2; exit 1; fi
	go vet ./...
	go run ./internal/lint
	go run $(STATICCHECK) ./...

samples: ## renders samples/ anew
	go run ./internal/scene/samples --out samples

samples-check: ## renders the samples anew and compares them with the files in samples/
	@rm -rf build/samples && mkdir -p build
	go run ./internal/scene/samples --out build/samples
	diff -r samples build/samples && echo "samples: reproduced"

accuracy: ## measures rendered scenes and real photographs against their truth; SHORT=1 for at most 5 minutes
	@scripts/setup.sh test
	@$(MAKE) --no-print-directory build
	@mkdir -p build
	go run ./internal/estimate/coverage/table $(if $(SHORT),-short -photos 1) | tee build/coverage.txt
	go run ./internal/compare/coverage/table -draws $(if $(SHORT),60,500) | tee -a build/coverage.txt
	$(if $(SHORT),,cp build/coverage.txt docs/coverage.txt)
	go run ./internal/accuracy/rulers/table -seeds $(SEEDS) $(if $(SHORT),-scenes 3 -false 12 -time 0,-scenes 100 $(if $(filter reporting,$(SEEDS)),-out docs/rulers.md))
	go run ./internal/accuracy --seeds $(SEEDS) --python $(PYTHON) $(if $(SHORT),--short,$(if $(filter reporting,$(SEEDS)),--out docs/accuracy.md)) $(ACCURACY)

bench: ## time and memory of a whole measurement, over a mere decode and over scikit-image; BATCH="--small 2000 --full 60" of a folder
	@scripts/setup.sh test
	@$(MAKE) --no-print-directory build
	go run ./internal/bench --python $(PYTHON) $(if $(BATCH),--batch $(filter-out 1,$(BATCH)))

soak: setup build ## 20 phones for two minutes on 2 processors, then 100 kills; stops by itself
	go run ./internal/soak --program bin/gristmark $(SOAK)

readme: ## real output into README.md; PARTS="demo test accuracy bench"
	$(PYTHON) scripts/readme.py $(PARTS)

cover: ## coverage by function, cover.html by line
	go test -coverprofile=cover.out ./...
	go tool cover -func=cover.out | tail -n 1
	go tool cover -html=cover.out -o cover.html

clean:
	rm -rf bin build cover.out cover.html
