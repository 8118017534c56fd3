# thumbed: make help tells what there is. Every target does its own set-up.
.DEFAULT_GOAL := help
SHELL := /bin/bash
DEMO ?= demo
GO ?= go

PYTHON3 := /usr/lib/python3/dist-packages
JUPYTER := jupyter=jupyter-core $(PYTHON3)/nbclient=python3-nbclient jupyter-nbconvert=jupyter-nbconvert \
 $(PYTHON3)/ipykernel=python3-ipykernel jupyter-notebook=jupyter-notebook $(PYTHON3)/jupyter_client=jupyter-client
TEX := pdflatex=texlive-latex-base bibtex=texlive-binaries /usr/share/texmf/tex/latex/lm/lmodern.sty=lmodern \
 /usr/share/texlive/texmf-dist/tex/latex/booktabs/booktabs.sty=texlive-latex-recommended
RLIB := /usr/lib/R/site-library
R := Rscript=r-base-core $(RLIB)/lme4=r-cran-lme4 /usr/lib/R/library/nlme=r-cran-nlme $(RLIB)/lmerTest=r-cran-lmertest \
 $(RLIB)/pbkrtest=r-cran-pbkrtest $(RLIB)/strucchange=r-cran-strucchange /usr/lib/R/library/mgcv=r-cran-mgcv \
 $(RLIB)/jsonlite=r-cran-jsonlite /usr/lib/R/library/survival=r-cran-survival $(RLIB)/mlmRev=r-cran-mlmrev $(RLIB)/ordinal=r-cran-ordinal $(RLIB)/glmmTMB=r-cran-glmmtmb $(RLIB)/brglm2=r-cran-brglm2 \
 /usr/lib/R/library/cluster=r-cran-cluster

.PHONY: help build demo test lint notebooks notebooks-keep formats-keep bench race crosscheck vulnerabilities coverage false-alarms claims real hard release systems slow records corpus slurm fuzz reference clean

help: ## tell what there is
	@echo "make TARGET, where TARGET is one of:"
	@sed -n 's/^\([a-z-]*\):[^#]*## \(.*\)/  \1\t\2/p' $(MAKEFILE_LIST) | expand -t 18

build: ## build the command bin/thumbed
	@.ci/need git=git
	$(GO) build -o bin/thumbed ./cmd/thumbed

demo: build ## write the invented demo study into demo/, run it, and say where its page is
	@if [ -e $(DEMO) ]; then echo "Using the study already in $(DEMO)/ (delete that folder for a fresh one)."; \
	 else bin/thumbed demo $(DEMO); fi
	bin/thumbed run $(DEMO)

# Those that take longest begin, so that none of them is alone at the end; lint has vetted all.
LONGEST := ./models/study ./notebooks ./cmd/thumbed ./kernel/... ./models/study/plan ./models/mixed
test: lint ## all tests, those of notebooks, of pages in a browser and of the chapter in LaTeX too (minutes)
	@.ci/need chromium=chromium chromedriver=chromium-driver pdffonts=poppler-utils $(TEX) $(JUPYTER)
	THUMBED_JUPYTER=1 THUMBED_TEX=1 $(GO) test -vet=off -timeout 30m $(LONGEST) ./...

lint: ## gofmt, go vet, staticcheck
	@unformatted=$$(gofmt -l cmd kernel models notebooks); if [ -n "$$unformatted" ]; then \
	 echo "gofmt would change:"; echo "$$unformatted"; exit 1; fi
	$(GO) vet ./...
	$(GO) tool staticcheck ./...

notebooks: build ## start Jupyter on this machine only, with the kernel in place, and print the address
	@.ci/need $(JUPYTER)
	bin/thumbed kernel install
	jupyter notebook --no-browser --ip=127.0.0.1 --notebook-dir=notebooks $(if $(filter 0,$(shell id -u)),--allow-root)

notebooks-keep: build ## run the notebooks and keep what they show now
	@.ci/need $(JUPYTER)
	bin/thumbed kernel install
	bin/thumbed notebook run --keep notebooks/*.ipynb

formats-keep: ## write the pages of all file formats anew
	THUMBED_FORMATS=keep $(GO) test ./models/study/formats

bench: ## benchmarks of every room
	$(GO) test -run '^$$' -bench . -benchmem ./...

race: ## the reference libraries and ours in turn, in one run
	@.ci/need $(R)
	THUMBED_RACE=1 $(GO) test -count=1 -p 1 -run 'TestRace$$' -v -timeout 2h ./models/mixed ./models/generalised ./models/dropoff

DESIGNS ?= 200
crosscheck: ## DESIGNS random models (default 200) and 300 series, each by ours and by the reference libraries, live; and the whole demonstration's page
	@.ci/need $(R)
	THUMBED_CROSSCHECK=$(DESIGNS) THUMBED_SLOW=1 $(GO) test -run 'CrossCheck|SlowPartitions' -v -timeout 2h ./models/mixed ./models/generalised ./models/dropoff
	THUMBED_REAL=all $(GO) test -count=1 -run 'TestPageRecomputedInR$$' -v -timeout 2h ./cmd/thumbed

FUZZTIME ?= 10m
fuzz: ## fuzz every importer and parser for FUZZTIME each (default 10m, hours in all; FUZZTIME=30s for a quick look)
	@GO="$(GO)" FUZZTIME="$(FUZZTIME)" .ci/fuzz

vulnerabilities: ## look for known vulnerabilities in what the program is made of (needs a network)
	@.ci/need curl=curl
	@GO="$(GO)" .ci/vulnerabilities

coverage: ## how often the engine's intervals hold the truth, by simulation (an hour)
	THUMBED_SLOW=1 nice $(GO) test -timeout 6h -run 'TestCoverage$$' -v ./models/mixed ./models/generalised

false-alarms: ## how often a change is claimed where there is none, by simulation (hours; THUMBED_SERIES=200 for some 30 minutes)
	THUMBED_SLOW=1 nice $(GO) test -timeout 12h -count=1 -run 'TestFalseAlarms$$' -v ./models/dropoff

claims: ## whole studies drawn from a written truth: how often what they say is true (three hours; CLAIMS_MAIN=50 CLAIMS_OTHERS=50 CLAIMS_TRACES=20 for a look)
	GOGC=400 THUMBED_SLOW=1 nice $(GO) test -timeout 12h -count=1 -run 'TestClaims$$|TestClaimsOnTraces$$' -v ./models/study/claims

REAL := TestProcessorsAgree|TestPageRecomputedInR|TestCorpusRecomputedInR|TestTracesInR|TestLogInATerminal|TestLooksInATerminal|TestLibreOffice|TestProgramFromABundle|TestPagesAreAccessible|TestViewerShowsAnnotations|TestTheChapterOfManyBooks
real: ## with big outside programs: other processors (arm64 emulated), R, a spreadsheet, a terminal, a build without a network (minutes)
	@.ci/need Rscript=r-cran-lme4 $(RLIB)/lme4=r-cran-lme4 $(RLIB)/ordinal=r-cran-ordinal $(RLIB)/glmmTMB=r-cran-glmmtmb qemu-aarch64-static=qemu-user-static soffice=libreoffice-calc tmux=tmux pkill=procps npm=npm node=nodejs chromium=chromium $(TEX) $(JUPYTER)
	THUMBED_REAL=1 $(GO) test -count=1 -timeout 60m -run '^($(REAL))$$' ./cmd/thumbed ./models/study ./models/study/workbook ./models/study/deposit
	GOAMD64=v3 GOFLAGS='-tags=noasm' THUMBED_JUPYTER=1 $(GO) test -count=1 -timeout 60m -run 'TestNotebooksShowWhatTheyShowed$$' ./notebooks

hard: ## kills, full disks, hostile files and large loads in one go: what held, with time and memory (many minutes)
	THUMBED_HARD=all nice $(GO) test -count=1 -timeout 3h -run 'TestHard$$' -v ./cmd/thumbed

release: ## archives for Linux, macOS and Windows with checksums and licences, into dist/
	@.ci/need git=git
	$(GO) run .ci/release.go dist

systems: ## the program for all six systems, built and vetted (half an hour)
	THUMBED_REAL=1 $(GO) test -count=1 -timeout 2h -run '^TestRelease$$' -v ./cmd/thumbed

slow: ## coverage and false-alarm studies by simulation, at their full size (hours)
	THUMBED_SLOW=1 nice $(GO) test -timeout 6h -v ./models/...

records: ## read a folder of published records, FOLDER=…, and hold those of the gold standard against it
	@test -n "$(FOLDER)" || { echo "name the folder: make records FOLDER=…"; exit 2; }
	@THUMBED_RECORDS="$(abspath $(FOLDER))" $(GO) test -count=1 -timeout 1h -v -run 'TestPublishedRecords$$' ./models/study/intake

slurm: ## divided work on a real Slurm of one node, installed from Debian (as root)
	@.ci/need /usr/sbin/slurmctld=slurmctld /usr/sbin/slurmd=slurmd sbatch=slurm-client /usr/sbin/munged=munge
	THUMBED_SLURM=1 $(GO) test -run 'TestSlurm$$' -v ./cmd/thumbed

corpus: ## 5,000 invented books through thumbed corpus: time and memory
	THUMBED_SLOW=1 $(GO) test -count=1 -run TestSlowLargeCorpus -v -timeout 1h ./cmd/thumbed

reference: ## write testdata/reference anew from Debian's R packages
	@.ci/need $(R)
	for script in testdata/reference/*/*.R; do \
	 case $$script in */live.R|*/recompute/*|*/traces/models.R) ;; *) (cd $$(dirname $$script) && Rscript $$(basename $$script)) ;; esac; done

clean: ## remove what was built (never a study)
	rm -rf bin
