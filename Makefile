# Everything runs in .venv, which these targets make themselves. PYTHON may name another Python.
PYTHON ?= python3
BIN := .venv/bin
MANAGE := $(BIN)/python manage.py
DEMO := PLANNER_DATA=data/demo
PORT ?= 8000

# A file's tests stay together, so that the demo shop and each cast are made once on each database.
SHARED := -n 2 --dist loadfile

.PHONY: venv demo run test soak check bench screenshot lock

.venv/run: requirements.txt
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements.txt
	touch $@

.venv/dev: requirements-dev.txt .venv/run
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements-dev.txt
	touch $@

venv: .venv/dev

demo: .venv/run
	$(DEMO) $(MANAGE) demo_shop
	$(DEMO) $(MANAGE) start --port $(PORT)

run: .venv/run
	$(MANAGE) start --port $(PORT)

test: .venv/dev
	$(BIN)/python -m tests.reference fixtures/reference/*.json
	$(BIN)/python -m tests.on_postgres pytest -q $(SHARED) -m "database and not browser" tests
	$(BIN)/python -m pytest -q -n 2 -m browser tests
	$(BIN)/python -m pytest -q $(SHARED) -m "not browser"

soak: .venv/dev
	PLANNER_SOAK=1 $(BIN)/python -m tests.on_postgres pytest -q -x -m "soak and not browser" tests
	PLANNER_SOAK=1 $(BIN)/python -m pytest -q -x -m "soak and not browser" tests

check: .venv/dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy --no-incremental
	$(BIN)/lint-imports --no-logo
	$(MANAGE) makemigrations --check --dry-run
	PLANNER_HTTPS=1 $(MANAGE) check --deploy --fail-level WARNING

bench: .venv/dev
	$(BIN)/python -m tests.bench

screenshot: .venv/dev
	$(BIN)/python -m tests.browser.screenshot README.png

# Needs uv; the lock files carry hashes and no address to fetch from.
lock:
	uv pip compile -q --universal --python-version 3.11 --fork-strategy fewest --generate-hashes \
		--no-emit-index-url --no-emit-find-links --no-header pyproject.toml -o requirements.txt
	uv pip compile -q --universal --python-version 3.11 --fork-strategy fewest --generate-hashes \
		--no-emit-index-url --no-emit-find-links --no-header --extra dev -c requirements.txt \
		pyproject.toml -o requirements-dev.txt
