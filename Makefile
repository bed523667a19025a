# Everything a person or a machine runs. `make demo` and `make test` work on a
# fresh machine with Go, Node 20 and make.

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
APP := web/app
BIN := bin/stopledger

.PHONY: demo test check build app tools go-test app-test browser-test bench calibration torture fuzz generate clean

demo: build ## an invented season, served on 127.0.0.1:8080
	$(BIN) demo

build: app
	go build -o $(BIN) ./cmd/stopledger

app: $(APP)/node_modules/.package-lock.json
	cd $(APP) && npm run --silent build

$(APP)/node_modules/.package-lock.json: $(APP)/package-lock.json
	cd $(APP) && npm ci --no-audit --no-fund --loglevel=error
	@touch $@

test: tools build go-test app-test browser-test ## everything, as CI runs it

check: ## quick: format, vet, tests without race or browser
	@test -z "$$(gofmt -l cmd charting events metrics replay web/*.go)" || { gofmt -l cmd charting events metrics replay web/*.go; echo 'run gofmt -w on these'; exit 1; }
	go vet ./...
	go test ./...

tools: ## Chromium and ffmpeg for the browser and film tests
	@.ci/tools

go-test:
	go vet ./...
	go test -race ./...

app-test: $(APP)/node_modules/.package-lock.json
	cd $(APP) && npm run --silent check && npm test --silent

browser-test: build
	cd $(APP) && npm run --silent browser

bench: ## speed, in ratios measured in one run
	go test -run '^$$' -bench . -benchtime 3x ./...

calibration: ## thousands of simulated data sets; prints a table
	go test ./metrics/stats/pooled -run CalibrationFull -calibration.full=2000 -timeout 3h -v
	go test ./metrics -run Truth -calibration.seasons 12 -timeout 1h -v

torture: ## kills, full disks, flipped bits; prints the table of rounds, lost, doubled
	go run ./web/torture

fuzz: ## a minute for each parser of outside input
	@.ci/fuzz

generate:
	go generate ./...

clean:
	rm -rf bin $(APP)/dist/assets $(APP)/node_modules
