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

# What the tests need beyond Go: a browser for the pages, poppler to read the
# PDFs back. Installed only where missing.
deps-test:
	@missing=""; \
	command -v chromium >/dev/null 2>&1 || missing="$$missing chromium"; \
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

# The race detector runs where goroutines are; it wants cgo for the tests only.
test: deps-test lint build
	$(GO) test ./...
	CGO_ENABLED=1 $(GO) test -race -short ./internal/app/... ./internal/web/... ./internal/store/...

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./internal/...

pictures: build
	$(GO) test ./internal/web -run TestPictures -pictures
	$(GO) test ./internal/paper -run TestPictures -pictures

# Slow outside oracles: their answers are committed beside the instances.
oracle:
	@command -v cbc >/dev/null 2>&1 || apt-get install -qy --no-install-recommends coinor-cbc
	@command -v Rscript >/dev/null 2>&1 || apt-get install -qy --no-install-recommends r-base-core
	$(GO) test -tags oracle -count=1 -timeout 60m ./internal/day/daytest/... ./internal/bag/...
