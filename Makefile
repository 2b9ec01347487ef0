# One environment in .venv, made from a lock with hashes and no addresses.

PYTHON ?= python3
UV_VERSION := 0.13.9
BIN := .venv/bin
UV := .venv/.uv-$(UV_VERSION)
PIP := $(BIN)/python -m pip --quiet --disable-pip-version-check
LOCK := requirements-dev.lock
PYTEST_ARGS ?=
# Tests run in so many processes side by side, one more than two processors, as many wait for a browser;
# `make test WORKERS=0` runs them one after the other.
WORKERS ?= 3
# A hospital network may sign its own connections.
export UV_SYSTEM_CERTS := true
# As pip does of itself: the first start should be as quick as every other.
export UV_COMPILE_BYTECODE := 1

# `make run` takes a published examination from file to conclusion and letter (`make example`), then serves the
# pages with a small invented clinic, kept in DEMO, until Ctrl-C.
DEMO ?= out/demo
EXAMINATION ?= examples/slip_on_ice.json
LETTER ?= letter.pdf
BENCH := $(BIN)/fabella bench

.PHONY: setup run example test lint format coverage bench screens pages lock clean
# System packages are fetched while the format, types and imports are checked.
MAKEFLAGS += --no-print-directory --jobs=2

setup: .venv/.ready .venv/.references

run: example
	@$(BIN)/fabella serve --demo --data $(DEMO)

example: .venv/.ready
	@$(BIN)/fabella conclude $(EXAMINATION)
	@$(BIN)/fabella letter $(EXAMINATION) --out $(LETTER)

test: setup lint
	@$(BIN)/python -m pytest --numprocesses=$(WORKERS) --dist=worksteal $(PYTEST_ARGS)

lint: .venv/.ready
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy src tests
	@$(BIN)/lint-imports --no-logo

format: .venv/.ready
	@$(BIN)/ruff format .
	@$(BIN)/ruff check --fix .

coverage: setup
	@$(BIN)/coverage run -m pytest $(PYTEST_ARGS)
	@$(BIN)/coverage report

bench: .venv/.ready
	@$(BENCH)

# Pictures of every page into docs/screens; `make pages` prints how heavy and how quick each is.
screens: setup
	@$(BIN)/python -m tests.browser.make_screens

pages: setup
	@$(BIN)/python -m tests.browser.measure_pages

# Both locks, for every platform and Python from 3.11 on. LOCK_ARGS=--upgrade takes newer versions.
COMPILE = $(BIN)/uv pip compile pyproject.toml --quiet --universal --python-version 3.11 \
	--all-extras --generate-hashes --no-header --no-annotate $(LOCK_ARGS)
lock: $(UV)
	$(COMPILE) -o requirements.lock
	$(COMPILE) --group dev -o requirements-dev.lock
	@! grep -n '://' requirements.lock requirements-dev.lock

clean:
	rm -rf .venv build dist .coverage .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis

.venv/bin/python:
	@$(PYTHON) -c 'import sys; assert sys.version_info >= (3, 11)' 2>/dev/null && $(PYTHON) -m venv .venv || \
		{ rm -rf .venv; echo "Python 3.11 or newer with its venv module is needed; PYTHON=... names another one."; exit 1; }

$(UV): | .venv/bin/python
	@$(PIP) install uv==$(UV_VERSION) || echo "uv is not to be had here; pip will do, more slowly."
	@touch $@

# Both tools read the same file.
.venv/.synced: $(LOCK) | $(UV)
	@$(BIN)/uv pip sync --quiet --python $(BIN)/python --require-hashes $(LOCK) || \
		{ echo "Installing with pip instead."; $(PIP) install --require-hashes -r $(LOCK); }
	@touch $@

# The project itself needs no download: its build backend is in the lock.
.venv/.ready: .venv/.synced pyproject.toml
	@$(PIP) install --no-deps --no-build-isolation --editable .
	@$(BIN)/python -m compileall -q src
	@touch $@

# Outside references that only tests use. Asked again next time while any is missing.
.venv/.references: tools/system_packages.sh | .venv/bin/python
	@if sh tools/system_packages.sh; then touch $@; fi
