# Needs python3 (3.11 or newer), make, and the network the first time. Nothing else: `make run` and
# `make test` fetch everything into this folder (.cache, .venv) and leave the machine as it is; calls
# are kept where a user's data belongs (docs/server.md says where), and `make clean` leaves them. Only
# where they may (as root, or where sudo asks for no password) they install from the distribution what
# is missing: a pip for Python, and ngspice and Chromium for the tests.

SHELL := /bin/sh
BIN := .venv/bin
NEW_ENOUGH := import sys; sys.exit(sys.version_info < (3, 11))
CANDIDATES := python3 python3.14 python3.13 python3.12 python3.11 python
PYTHON = $(or $(shell for p in $(CANDIDATES); do \
	$$p -c '$(NEW_ENOUGH)' >/dev/null 2>&1 && { command -v $$p; break; }; done),$(error \
	catchpan needs Python 3.11 or newer, and none of "$(CANDIDATES)" is))
SET_UP := pyproject.toml uv.lock tools/set_up.py tools/uv.py tools/field_app.py
FIELD := $(shell find field \( -name node_modules -o -name dist -o -name test \) -prune \
	-o -type f -print)

.PHONY: help run demo test lint bench clean
.DEFAULT_GOAL := help

help:
	@echo "make run    set everything up, then serve the field app and the office with a demo shop"
	@echo "make demo   set everything up, then play an invented call in the terminal"
	@echo "make test   set everything up, then check style, types, import contracts and run all tests"
	@echo "make lint   style, types and import contracts only"
	@echo "make bench  measure how long things take"
	@echo "make clean  remove everything that was fetched or made here"

run: .venv/.ready-to-run
	@$(BIN)/catchpan serve --demo

demo: .venv/.ready-to-run
	@$(BIN)/catchpan demo

test: lint
	@$(PYTHON) -m tools.ngspice
	@$(PYTHON) -m tools.browser
	$(BIN)/python -m pytest -n auto --dist loadfile --no-loadscope-reorder

lint: .venv/.ready-to-test
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: .venv/.ready-to-test
	$(BIN)/python -m benchmarks

clean:
	rm -rf .venv .cache dist field/node_modules field/dist src/catchpan/web/app .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

.venv/.ready-to-run: $(SET_UP) $(FIELD)
	@$(PYTHON) -m tools.set_up run

.venv/.ready-to-test: $(SET_UP) $(FIELD)
	@$(PYTHON) -m tools.set_up test
