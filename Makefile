# Two commands do everything: `make serve` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
JS := tests/js/node_modules
# Node comes with the packages of the tests; nothing of it is needed from the machine.
NPM := PATH="$(abspath $(BIN)):$$PATH" $(BIN)/npm --prefix tests/js
export NO_MKDOCS_2_WARNING := 1

.PHONY: help setup setup-test serve build test test-long bench sizes lint types audit pictures clean
help:
	@echo "make serve  set up, build and serve the site, rebuild on change"
	@echo "make test   set up, find or install Chromium, run every check"
	@echo "make test-long  the whole sweeps of which make test runs a drawn part"
	@echo "make build  write the site to site/"
	@echo "make lint   judge the knowledge in symptoms/"
	@echo "make types  check the types and the form of the browser's modules"
	@echo "make bench  print speed and weight beside what others cost (about 20 minutes)"
	@echo "make sizes  print how tall and wordy the pages are on a phone"
	@echo "make audit  judge the pinned packages: consistent, no known weakness"
	@echo "make pictures  draw the icons anew and take the README's screenshot"
	@echo "make clean  remove what was made (.venv, site, caches)"

setup: $(VENV)/.ok
setup-test: $(VENV)/.ok-test

# The venv is made once; a change of pinned versions makes it anew in place.
$(VENV)/.ok: pyproject.toml build_tools/install.py
	@$(PYTHON) build_tools/install.py $(VENV)
	@touch $@

$(VENV)/.ok-test: $(VENV)/.ok
	@$(PYTHON) build_tools/install.py $(VENV) --test
	@touch $@

$(JS)/.ok: tests/js/package-lock.json $(VENV)/.ok-test
	@$(NPM) ci --no-audit --no-fund --loglevel=error
	@touch $@

serve: setup
	@$(BIN)/python -m build_tools serve

build: setup
	@$(BIN)/python -m build_tools build --out site

lint: setup
	@$(BIN)/python -m build_tools lint

# As many at once as the machine has processors, up to four: each holds a browser in memory.
PYTEST := $(BIN)/python -m pytest -n logical --maxprocesses 4 --dist worksteal

# Cheap checks first, so a slip in style does not wait for the browser.
test: setup-test $(JS)/.ok
	@echo "== 1/6 style"; $(BIN)/ruff check build_tools tests && $(BIN)/ruff format --check build_tools tests
	@echo "== 2/6 types"; $(BIN)/mypy
	@echo "== 3/6 knowledge"; $(BIN)/python -m build_tools lint
	@echo "== 4/6 types of the browser's modules"; $(NPM) run --silent types
	@echo "== 5/6 form of the browser's modules"; $(NPM) run --silent form
	@echo "== 6/6 tests"; $(PYTEST)

test-long: setup-test
	@$(PYTEST) -m long

# Prints ratios and fails on none. One part alone: make bench BENCH="--only pages".
bench: setup-test
	@$(PYTHON) build_tools/install.py $(VENV) --test --bench
	@$(BIN)/python -m tests.bench $(BENCH)
	@$(BIN)/python -m pytest -q -s -m bench

# Heights and words of pages and checker states at 360x740; SITES="old new" compares built folders.
sizes: setup-test
	@$(BIN)/python -m tests.page_sizes $(SITES)

types: setup-test $(JS)/.ok
	@$(NPM) run --silent types && $(NPM) run --silent form

# Ends with 1 if a package is known to be weak, with 2 if nobody could be asked.
audit: setup-test
	@$(BIN)/python build_tools/audit.py $(VENV) .venv-audit

pictures: setup-test
	@$(BIN)/python -m tests.pictures

clean:
	@$(PYTHON) -m build_tools.clean $(VENV)
