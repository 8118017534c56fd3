# thumbed: make help tells what there is. Every target does its own set-up.
.DEFAULT_GOAL := help
SHELL := /bin/bash
DEMO ?= demo
GO ?= go

.PHONY: help demo test lint bench fuzz reference clean build

help: ## tell what there is
	@echo "make TARGET, where TARGET is one of:"
	@sed -n 's/^\([a-z-]*\):[^#]*## \(.*\)/  \1\t\2/p' $(MAKEFILE_LIST) | expand -t 14

build: ## build the command bin/thumbed
	@.ci/need git=git
	$(GO) build -o bin/thumbed ./cmd/thumbed

demo: build ## write the invented demo study into demo/, run it, and say where its page is
	@if [ -e $(DEMO) ]; then echo "Using the study already in $(DEMO)/ (delete that folder for a fresh one)."; \
	 else bin/thumbed demo $(DEMO); fi
	bin/thumbed run $(DEMO)

test: lint ## all tests (minutes)
	@.ci/need chromium=chromium pdffonts=poppler-utils
	$(GO) test ./...

lint: ## gofmt, go vet, staticcheck
	@unformatted=$$(gofmt -l cmd models); if [ -n "$$unformatted" ]; then \
	 echo "gofmt would change:"; echo "$$unformatted"; exit 1; fi
	$(GO) vet ./...
	$(GO) tool staticcheck ./...

bench: ## benchmarks of every room
	$(GO) test -run '^$$' -bench . -benchmem ./...

FUZZTIME ?= 30s
fuzz: ## fuzz every parser for FUZZTIME each (default 30s)
	@set -e; for pkg in $$($(GO) list ./...); do \
	 for name in $$($(GO) test -list '^Fuzz' $$pkg | grep '^Fuzz' || true); do \
	  echo "$$pkg $$name"; $(GO) test -run '^$$' -fuzz "^$$name\$$" -fuzztime $(FUZZTIME) $$pkg; done; done

slow: ## coverage and false-alarm studies by simulation (tens of minutes)
	THUMBED_SLOW=1 $(GO) test -timeout 3h -v -run 'Slow|Coverage|FalseAlarm' ./...

reference: ## write testdata/reference anew from Debian's R packages
	@.ci/need Rscript=r-base-core
	@dpkg -s r-cran-lme4 r-cran-nlme r-cran-lmertest r-cran-pbkrtest r-cran-strucchange r-cran-mgcv >/dev/null 2>&1 \
	 || { [ "$$(id -u)" = 0 ] && apt-get install -y -qq --no-install-recommends r-cran-lme4 r-cran-nlme r-cran-lmertest r-cran-pbkrtest r-cran-strucchange r-cran-mgcv; }
	for script in testdata/reference/*/*.R; do (cd $$(dirname $$script) && Rscript $$(basename $$script)); done

clean: ## remove what was built (never a study)
	rm -rf bin
