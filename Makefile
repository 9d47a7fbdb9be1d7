PYTHON ?= python3
BIN := .venv/bin

.PHONY: demo test lint bench schematics clean

demo: .venv/installed
	$(BIN)/hingeline demo

test: .venv/installed
	$(BIN)/pytest -n 4

lint: .venv/installed
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: .venv/installed
	$(BIN)/python -m tests.bench

schematics: .venv/installed
	$(BIN)/python schematics/draw.py

.venv/installed: pyproject.toml
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[dev]'
	touch $@

clean:
	rm -rf .venv
