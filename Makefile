# The one door to this project. `make help` lists what there is.
#
#   PYTHON=python3.12   the Python to build .venv with (3.11 or newer)
#   PORT=8321           where `make run` serves, on this machine only
#   GARDEN=my.toml      a garden of your own in place of the demo
#   DATA=demo-garden    where the demo garden is written; what you record in it stays in its folder store/

PYTHON ?= python3
PORT ?= 8321
DATA ?= demo-garden
GARDEN ?=
VENV := .venv
BIN := $(VENV)/bin

# A stamp carries the fingerprint of what it was built from: it holds after a fresh checkout as well
# as after an edit, and a second run needs no network.
print_of = $(shell cat $(1) | cksum | cut -d' ' -f1)
RUN_LOCKS := requirements/build.txt requirements/run.txt
RUN_STAMP := $(VENV)/.run-$(call print_of,$(RUN_LOCKS) pyproject.toml)
TEST_STAMP := $(VENV)/.test-$(call print_of,requirements/test.txt)
DEV_STAMP := $(VENV)/.dev-$(call print_of,requirements/dev.txt)
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet

.DEFAULT_GOAL := help
.PHONY: help run test check format bench picture accuracy docs languages knowledge lock clean

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## /{printf "  make %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "bearwell needs Python 3.11 or newer: make PYTHON=python3.12 ..." >&2; exit 1; }
	@$(PYTHON) -m venv $(VENV) || \
		{ rm -rf $(VENV); echo "could not build $(VENV): is Python's venv module installed?" >&2; exit 1; }

$(RUN_STAMP): $(BIN)/python
	@echo "installing what bearwell needs into $(VENV) ..."
	@$(PIP) install --require-hashes -r requirements/build.txt -r requirements/run.txt
	@$(PIP) install --no-build-isolation --no-deps --no-index --editable .
	@rm -f $(VENV)/.run-*; touch $@

$(TEST_STAMP): $(RUN_STAMP)
	@echo "installing what the tests need into $(VENV) ..."
	@$(PIP) install --require-hashes -r requirements/test.txt
	@rm -f $(VENV)/.test-*; touch $@

$(DEV_STAMP): $(RUN_STAMP)
	@echo "installing the tools of development into $(VENV) ..."
	@$(PIP) install --require-hashes -r requirements/dev.txt
	@rm -f $(VENV)/.dev-*; touch $@

run: $(RUN_STAMP) ## print two weeks of work for the demo garden (or GARDEN=), then serve its pages
	@set -e; garden="$(GARDEN)"; store="$(DATA)/store"; \
	if [ -n "$$garden" ]; then \
		$(BIN)/bearwell worklist "$$garden"; \
		exec $(BIN)/bearwell serve "$$garden" --host 127.0.0.1 --port $(PORT); \
	fi; \
	$(BIN)/bearwell demo "$(DATA)" || \
		{ test -f "$(DATA)/tern-steps.toml" && echo "keeping $(DATA)/tern-steps.toml as it is"; }; \
	if [ -e "$$store/bearwell.sqlite" ]; then \
		$(BIN)/bearwell import "$(DATA)/weather/tern-steps.csv" --data "$$store"; \
	else \
		$(BIN)/bearwell import "$(DATA)/tern-steps.toml" --data "$$store"; \
	fi; \
	$(BIN)/bearwell worklist --data "$$store"; \
	exec $(BIN)/bearwell serve --data "$$store" --host 127.0.0.1 --port $(PORT)

test: $(TEST_STAMP) ## every test; those of the browser and of PostgreSQL where they can be had
	@sh tools/system-browser.sh
	@sh tools/system-database.sh
	@$(BIN)/python -m pytest -n auto --maxprocesses 8 --dist loadfile

check: $(DEV_STAMP) ## format, lint, types, contract tests, generated pages, audit of dependencies
	@failed=""; \
	$(BIN)/ruff format --check --output-format concise . || failed="$$failed format"; \
	$(BIN)/ruff check . || failed="$$failed lint"; \
	$(BIN)/mypy || failed="$$failed types"; \
	$(BIN)/python -m pytest -q tests/contracts || failed="$$failed contracts"; \
	$(BIN)/python tools/reference.py --check || failed="$$failed docs"; \
	$(BIN)/python tools/audit.py || failed="$$failed audit"; \
	if [ -n "$$failed" ]; then echo "check: not in order:$$failed" >&2; exit 1; fi; \
	echo "check: all in order"

format: $(DEV_STAMP) ## lay out the code and sort its imports
	@$(BIN)/ruff check --fix-only --quiet .
	@$(BIN)/ruff format .

bench: $(TEST_STAMP) ## speed, memory and size; writes docs/performance.md
	@$(BIN)/python tools/bench.py

picture: $(TEST_STAMP) ## draw the picture of the README anew
	@$(BIN)/python tools/picture.py

accuracy: $(RUN_STAMP) ## skill on real records, where they are at hand
	@$(BIN)/python tools/accuracy.py

docs: $(RUN_STAMP) ## write docs/reference/ from the code
	@$(BIN)/python tools/reference.py

languages: $(TEST_STAMP) ## gather what is said into languages/ and compile the catalogues
	@$(BIN)/python tools/languages.py gather

knowledge: $(RUN_STAMP) ## check the tables and rewrite their fingerprints
	@$(BIN)/python -m bearwell.knowledge
	@$(BIN)/python tools/fingerprints.py

lock: $(DEV_STAMP) ## choose newer versions of what we build on; rewrites requirements/
	@sh tools/lock.sh $(BIN)/uv

clean: ## take away what was built
	@rm -rf $(VENV) dist build .hypothesis .mypy_cache .pytest_cache .ruff_cache
