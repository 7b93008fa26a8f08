# Slabside: `make run` shows the demo shop's making day, `make test` runs every check.

GO      ?= go
BIN     := build/slabside
LISTEN  ?= 127.0.0.1:7373
export CGO_ENABLED ?= 0

.PHONY: run build test bench pictures oracle deps-test lint

run: build
	$(BIN) demo --listen $(LISTEN)

build:
	@mkdir -p build
	$(GO) build -trimpath -ldflags="-s -w" -o $(BIN) ./cmd/slabside

# What the tests need beyond Go: a browser for the pages and the tool that lets it
# trust a certificate, poppler to read the PDFs back. Installed only where missing.
deps-test:
	@missing=""; \
	command -v chromium >/dev/null 2>&1 || missing="$$missing chromium"; \
	command -v certutil >/dev/null 2>&1 || missing="$$missing libnss3-tools"; \
	command -v pdftotext >/dev/null 2>&1 || missing="$$missing poppler-utils"; \
	command -v zbarimg >/dev/null 2>&1 || missing="$$missing zbar-tools"; \
	command -v gcc >/dev/null 2>&1 || missing="$$missing gcc libc6-dev"; \
	if [ -n "$$missing" ]; then \
		echo "installing:$$missing"; \
		sudo=""; [ "$$(id -u)" = 0 ] || sudo=sudo; \
		$$sudo apt-get update -q && $$sudo env DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends $$missing; \
	fi

lint:
	@out=$$(gofmt -l . ); if [ -n "$$out" ]; then echo "gofmt: $$out"; exit 1; fi
	$(GO) vet ./...
	$(GO) tool -modfile=tools/go.mod staticcheck ./...

# The race detector runs the tests in which several are at work at once, and no others:
# they say so by their names, or a browser and the server are the several: where taps wait
# and come late, or a page is told what is new. It wants cgo for the tests only.
AT_ONCE := _together|TestKeeper/concurrency|TestKeeper/two_keepers|TestFaults_kill|TestTablet|TestSlab|TestBrowser$$/^(not_live|the_day|weigh_in|record_taps|pack_taps)$$|TestBrowser_Slab$$/^(not_live|a_batch_that_is_kept)$$|TestBrowser_Trouble
test: deps-test lint build
	$(GO) test -timeout 15m ./...
	CGO_ENABLED=1 $(GO) test -timeout 15m -race -short -run '$(AT_ONCE)' ./internal/app/... ./internal/web/... ./internal/store/...

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./internal/...

# Pictures of the demo shop's pages and sheets, into docs/pictures.
PICTURES_ON ?= 127.0.0.1:7399
pictures: build deps-test
	@rm -rf build/pictures; mkdir -p build/pictures
	@cd build/pictures && ../slabside demo --listen $(PICTURES_ON) >demo.txt 2>&1 & pid=$$!; \
	for i in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15; do \
		grep -q "Pages on" build/pictures/demo.txt 2>/dev/null && break; sleep 1; \
	done; \
	$(GO) test ./internal/web -count=1 -run TestPictures -pictures ../../docs/pictures -pictures-of http://$(PICTURES_ON); status=$$?; \
	kill $$pid; exit $$status
	$(GO) test ./internal/paper -count=1 -run TestPictures -pictures

PYTHON ?= /usr/bin/python3
# Slow outside oracles: their answers are committed beside the instances.
oracle:
	@command -v cbc >/dev/null 2>&1 || apt-get install -qy --no-install-recommends coinor-cbc
	@command -v Rscript >/dev/null 2>&1 || apt-get install -qy --no-install-recommends r-base-core
	@$(PYTHON) -c 'import scipy' 2>/dev/null || apt-get install -qy --no-install-recommends python3-scipy
	$(PYTHON) internal/boil/testdata/course.py >build/course.csv && diff -I '^#' build/course.csv internal/boil/testdata/course.csv
	PYTHON=$(PYTHON) $(GO) test -tags oracle -count=1 -v -run TestRatio ./internal/boil ./internal/heat
	$(GO) test -tags oracle -count=1 -timeout 60m ./internal/day/daytest/... ./internal/bag/...
