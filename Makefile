# Every recipe the project has. `make demo` and `make test` are the two that a newcomer needs.
# All paths are relative, so that a checkout works in a folder with a space in its name.

PYTHON ?= python3
PY := .venv/bin/python
DEMO ?= demo-workspace
PORT ?= 8765
TESTS ?= tests
WORKERS ?= 2
SEED ?= 1
# What touches records and nothing slower: these run a second time with the records on a server.
RECORDS_TESTS := $(addprefix tests/integration/workspace/test_,opening.py taking.py taking_edges.py trouble.py \
                   desk_records.py freezing.py ward_movements.py keeping_the_diary.py) tests/integration/test_policy_on_collecting.py

.DEFAULT_GOAL := help
.PHONY: help setup setup-dev jvm browser demo serve test check format types layers generated docs bench calibrate fuzz kills requirements clean \
        test-unit test-spec test-property test-integration test-functional test-acceptance test-docs postgres office test-postgres

help: ## This list.
	@grep -hE '^[a-z-]+:.*## ' Makefile | sort | sed 's/:.*## /: /'

.venv/base.stamp: requirements/base.txt pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "Cubital needs Python 3.11 or newer; this is " + sys.version.split()[0] + ". Try: make PYTHON=python3.12 demo")'
	@test -x $(PY) || $(PYTHON) -m venv .venv
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/base.txt
	$(PY) -m pip install --quiet --disable-pip-version-check --no-build-isolation --no-deps -e .
	@touch .venv/base.stamp

.venv/dev.stamp: .venv/base.stamp requirements/dev.txt
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/dev.txt
	@touch .venv/dev.stamp

.venv/fuzz.stamp: .venv/dev.stamp requirements/fuzz.txt
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/fuzz.txt
	@touch .venv/fuzz.stamp

setup: .venv/base.stamp ## Python environment with what Cubital itself needs.

setup-dev: .venv/dev.stamp ## ... and with what its tests and checks need.

jvm: ## A Java runtime for the Spark tests: found, or installed where this machine allows it.
	@sh tools/find_jvm.sh

browser: ## A Chromium for the browser tests: found, or installed where this machine allows it.
	@sh tools/find_browser.sh

postgres: ## PostgreSQL for the tests of records on a server: found, or installed where this machine allows it.
	@sh tools/find_postgres.sh

office: ## LibreOffice for the tests that recalculate a workbook: found, or installed where this machine allows it.
	@sh tools/find_office.sh

demo: setup ## Set up, load the invented network, run the month, serve it on this computer.
	$(PY) -m cubital --workspace "$(DEMO)" demo --port $(PORT)

serve: setup ## Serve the demo workspace again without loading anything.
	$(PY) -m cubital --workspace "$(DEMO)" serve --port $(PORT)

test: setup-dev browser jvm postgres office ## Every test; those of the records on both back ends.
	$(PY) -m pytest -n $(WORKERS) --max-worker-restart=3 --dist loadfile $(TESTS)
	@if [ "$(TESTS)" = tests ]; then $(MAKE) --no-print-directory test-postgres; fi

test-postgres: setup-dev postgres ## The tests of the records again, with every workspace's records on a real server.
	CUBITAL_TEST_RECORDS=postgresql $(PY) -m pytest -n $(WORKERS) --dist loadfile $(RECORDS_TESTS)

test-unit test-spec test-property test-integration test-functional test-acceptance test-docs: setup-dev ## One folder of tests.
	$(PY) -m pytest -n $(WORKERS) --dist loadfile tests/$(@:test-%=%)

check: format types layers generated ## Style, types, floors, generated pages current.

format: setup-dev
	$(PY) -m ruff check src tests tools bench
	$(PY) -m ruff format --check src tests tools bench
	$(PY) tools/check_sizes.py

types: setup-dev
	$(PY) -m mypy

layers: setup-dev
	.venv/bin/lint-imports

generated: setup-dev
	$(PY) tools/make_reference.py --check
	$(PY) tools/make_catalogue.py --check

docs: setup-dev ## Write the generated reference pages anew.
	$(PY) tools/make_reference.py

bench: setup-dev ## Speed and memory, as ratios in one run. Results: docs/explanation/measured.md
	$(PY) -m bench

calibrate: setup-dev ## What Cubital says about chance against simulated chance; says its seeds. Results: docs/explanation/measured.md
	$(PY) tools/calibration

fuzz: .venv/fuzz.stamp ## Long random search for inputs that break a reader. Results: docs/explanation/measured.md
	$(PY) -m tools.fuzz --seed $(SEED)
	$(PY) -m pytest -n $(WORKERS) tests/property tests/integration --hypothesis-profile=long

kills: setup-dev ## A thousand real kills over taking, joining, letting go and backing up. Some ten minutes; says its seed.
	CUBITAL_KILLS=1000 $(PY) -m pytest -n $(WORKERS) --dist load -rP tests/integration/workspace/test_crash.py

requirements: ## Resolve the pinned requirements anew (needs uv on the path).
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate requirements/base.in -o requirements/base.txt
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate requirements/dev.in -o requirements/dev.txt
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate requirements/fuzz.in -o requirements/fuzz.txt

clean: ## Remove the environment and the demo.
	rm -rf .venv "$(DEMO)"
