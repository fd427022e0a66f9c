# Two commands do everything: `make serve` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
export NO_MKDOCS_2_WARNING := 1

.PHONY: help setup setup-test serve build test test-long bench lint types audit pictures clean
help:
	@echo "make serve  set up, build and serve the site, rebuild on change"
	@echo "make test   set up, find or install Chromium, run every check"
	@echo "make test-long  run the long sweeps, whose drawn tenth make test runs"
	@echo "make build  write the site to site/"
	@echo "make lint   judge the knowledge in symptoms/"
	@echo "make types  check the types of the browser's modules (needs node)"
	@echo "make bench  print speed and weight beside what others cost (about 20 minutes)"
	@echo "make audit  judge the pinned packages: consistent, no known weakness"
	@echo "make pictures  draw the icons anew and take the README's screenshots"
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

serve: setup
	@$(BIN)/python -m build_tools serve

build: setup
	@$(BIN)/python -m build_tools build --out site

lint: setup
	@$(BIN)/python -m build_tools lint

# Cheap checks first, so a slip in style does not wait for the browser.
test: setup-test
	@echo "== 1/4 style"; $(BIN)/ruff check build_tools tests && $(BIN)/ruff format --check build_tools tests
	@echo "== 2/4 types"; $(BIN)/mypy
	@echo "== 3/4 knowledge"; $(BIN)/python -m build_tools lint
	@echo "== 4/4 tests"; $(BIN)/python -m pytest -n 2 --dist loadfile

test-long: setup-test
	@$(BIN)/python -m pytest -n 2 -m long

# Prints ratios and fails on none. One part alone: make bench BENCH="--only pages".
bench: setup-test
	@$(PYTHON) build_tools/install.py $(VENV) --test --bench
	@$(BIN)/python -m tests.bench $(BENCH)

# For those who change the browser's modules; needs node. The tests load every module in Chromium.
types:
	@cd tests/js && npm ci --no-audit --no-fund && npm run --silent types && npm run --silent form

# Ends with 1 if a package is known to be weak, with 2 if nobody could be asked.
audit: setup-test
	@$(BIN)/python build_tools/audit.py $(VENV) .venv-audit

pictures: setup-test
	@$(BIN)/python -m tests.pictures

clean:
	@$(PYTHON) -m build_tools.clean $(VENV)
