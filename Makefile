# Two commands do everything: make bench (a simulated unit and the live page), make test (all of it).

PYTHON ?= python3
PORT ?= 8050
BROKER_PORT ?= 18830
SCENARIO ?= low_charge
SPEED ?= 1

INSTALLED := .venv/.installed

.PHONY: bench test lint figures lock system-packages clean

bench: $(INSTALLED)
	@.venv/bin/dewline bench --scenario $(SCENARIO) --speed $(SPEED) --port $(PORT) --broker-port $(BROKER_PORT)

test: system-packages $(INSTALLED) lint
	.venv/bin/pytest --cov --cov-report=term:skip-covered

lint: $(INSTALLED)
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy
	.venv/bin/lint-imports

figures: system-packages $(INSTALLED)
	.venv/bin/python -m tests.figures

# Rewrites requirements.lock from pyproject.toml; needs uv on the PATH.
lock:
	uv pip compile --universal --generate-hashes --python-version 3.11 --no-header --no-annotate \
		--group dev pyproject.toml -o requirements.lock

# The browser, the brokers and the buses that the tests talk to; installs what is missing where it may.
system-packages:
	@sh tests/system_packages.sh

$(INSTALLED): requirements.lock pyproject.toml
	@$(PYTHON) -m venv .venv || { echo "Python cannot make an environment here: install the package python3-venv." >&2; exit 1; }
	@echo "Installing the pinned packages, once (about a minute)."
	@.venv/bin/pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	@.venv/bin/pip install --quiet --disable-pip-version-check --no-index --no-deps --no-build-isolation -e .
	@touch $@

clean:
	rm -rf .venv bench-data
