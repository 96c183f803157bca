# Two commands do everything: make bench (a simulated unit and the live page), make test (all of it).

PYTHON ?= python3
HOST ?= 127.0.0.1
PORT ?= 8050
BROKER_PORT ?= 18830
SCENARIO ?= long_lines
SPEED ?= 1
# Of whoever works at it. Some shells have a NAME of their own, of the machine: only `make bench NAME=...` counts.
NAME :=

TO_RUN := .venv/.installed-to-run
TO_TEST := .venv/.installed-to-test
COMPILED := .venv/.compiled-tests
ROOMS := calc ingest dashboard simulators commands docs tests
JAVASCRIPT := npm --prefix tests/javascript --silent
TO_CHECK_JAVASCRIPT := tests/javascript/node_modules/.package-lock.json
PIPS := .venv/pips/.installed
PIP := .venv/bin/pip install --quiet --disable-pip-version-check
# The lock names everything: pip asks no package what else it needs, and builds none with what the lock does not name.
AS_LOCKED := --no-deps --require-hashes --no-build-isolation
TESTS_FROM_HERE := \# what the tests need besides
# File by file, in the order of tests/conftest.py. Five, on two cores too, because most of them wait.
WORKERS ?= 5
PYTEST := .venv/bin/pytest -n $(WORKERS) --dist loadfile --no-loadscope-reorder
# A hundred processes start in the tests: none shall compile what another has compiled, whatever the surroundings say.
test coverage physics: export PYTHONDONTWRITEBYTECODE :=
# As dewline itself does: several processes judge beside each other, each on one thread.
test coverage physics judge obedient voice: export OPENBLAS_NUM_THREADS ?= 1
DECODER_TESTS := tests/ingest/decode tests/ingest/link/test_modbus_rtu_frames.py

.PHONY: bench test compiled-tests physics coverage lint fuzz fresh figures power-cuts visit-kills late-answers logs pictures year outages rehearsal visit judge obedient voice mutants lock system-packages clean

bench: $(TO_RUN)
	@.venv/bin/dewline bench --scenario $(SCENARIO) --speed $(SPEED) --host $(HOST) --port $(PORT) --broker-port $(BROKER_PORT) --name "$(NAME)"

# While one core looks for lint, the other reads the tests: what it compiles is then ready for every worker.
test: system-packages $(TO_TEST) $(PIPS)
	@$(MAKE) --no-print-directory -j2 lint compiled-tests
	$(JAVASCRIPT) test
	$(PYTEST)

# Those that stand as they were compiled are read by each worker as it is.
compiled-tests: $(TO_TEST)
	@[ -e $(COMPILED) ] && [ -z "$$(find $(ROOMS) -name '*.py' -newer $(COMPILED))" ] || \
	{ touch $(COMPILED).begun && { .venv/bin/pytest --collect-only -qq > .venv/collected.log || { cat .venv/collected.log; exit 1; }; } \
	&& mv $(COMPILED).begun $(COMPILED); }

# What the unit, the scale and the instruments show over hours, beyond what the tests have time for.
physics: $(TO_TEST)
	$(PYTEST) -m hours tests

# How much of it the tests reach, branch by branch. First calc by its own tests alone, in minutes: all of it; then, half
# as long again as the tests, the rest by all of them.
coverage: system-packages $(TO_TEST) $(PIPS)
	$(PYTEST) --cov=calc --cov-report=term-missing:skip-covered --cov-fail-under=100 calc tests/calc tests/docs
	$(PYTEST) --cov --cov-report=
	.venv/bin/coverage report --skip-covered --omit='calc/*' --fail-under=90

lint: $(TO_TEST) $(TO_CHECK_JAVASCRIPT)
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy
	.venv/bin/lint-imports
	$(JAVASCRIPT) run lint

# Every decoder against 5,000 cases from hypothesis for each of its properties: a few minutes.
fuzz: $(TO_TEST)
	DEWLINE_FUZZ_EXAMPLES=5000 .venv/bin/pytest --timeout=900 $(DECODER_TESTS)

# Power cuts at four hundred moments of each kind, and the same where SQLite syncs less: that must lose packs.
power-cuts: $(TO_TEST)
	DEWLINE_POWER_CUTS=400 .venv/bin/pytest --timeout=900 tests/fault/test_power_cut.py

# A visit whose daemon is killed at two hundred random points of it, and its page server and browser at every step: nothing
# lost, nothing twice, and it stands as before.
visit-kills: $(TO_TEST)
	DEWLINE_VISIT_KILLS=200 DEWLINE_DAEMON_KILLS=20 .venv/bin/pytest --timeout=1400 tests/fault/test_visit_kills.py \
		tests/fault/test_page_kills.py tests/fault/test_bench.py -k kill

# A thousand rounds with each kind of polled instrument that answers too late: under which name the values come.
late-answers: $(TO_TEST)
	.venv/bin/python -m tests.figures.late_answers 1000

# The daemon through a broker away for five minutes and frozen for one; the tests have it shorter.
outages: system-packages $(TO_TEST)
	DEWLINE_OUTAGE_S=300 .venv/bin/pytest --timeout=900 tests/fault/test_daemon_faults.py

# A machine that has nothing yet: installs all of it with each pip, then times `make bench` until the page is live.
fresh: $(TO_TEST)
	.venv/bin/python -m tests.install

# Each figure beside its target, in ten minutes at most; `make figures NAMES="storage painted"` measures only those.
figures: system-packages $(TO_TEST)
	@.venv/bin/python -m tests.figures $(NAMES)

# A log of a gigabyte, ten million lines, brought in to its end, and ten million readings written out: a quarter of an hour.
logs: $(TO_TEST)
	DEWLINE_LOG_LINES=10000000 .venv/bin/python -m tests.figures in_and_out

# The pictures in docs/, of each page as it looks today: looked at before they are kept.
pictures: system-packages $(TO_TEST)
	.venv/bin/python -m tests.pictures

# A record of a year, 1,500 visits: any of them opened, reported on, and ten million readings of one taken out.
year: $(TO_TEST)
	.venv/bin/python -m tests.figures year

# A whole visit on the bench, from its script, twice beside each other: the same record, but for its stamps; and visits by
# touches of a screen alone, with what they ask of a person (-s tells it).
rehearsal: $(TO_TEST)
	DEWLINE_REHEARSAL=1 .venv/bin/pytest --timeout=900 tests/e2e/test_script.py tests/e2e/test_visit_by_mqtt.py \
		tests/e2e/test_visits_by_touch.py

# A visit of half an hour with eight instruments, and a hundred unpluggings: nothing may be lost or left behind.
visit: system-packages $(TO_TEST)
	.venv/bin/python -m tests.figures.eight_instruments 30 100

# Tries the judge on a thousand simulated units and writes docs/judge.md: a quarter of an hour on two cores. The units of
# other physics alone take two minutes: .venv/bin/python -m tests.judge.other_physics
judge: $(TO_TEST) obedient
	.venv/bin/python -m tests.judge

# Plays two thousand visits at which the judge is obeyed and writes docs/obedience.md: ten minutes on two cores.
obedient: $(TO_TEST)
	.venv/bin/python -m tests.judge.obedience $(VISITS)

# Plays every scenario of the circuit and sixty more visits through all that lies between sensors and sentences: does the
# page contradict itself, is its last word true? Three minutes on two cores.
voice: $(TO_TEST)
	.venv/bin/python -m tests.judge.voice

# Would the tests notice? Changes the judging rooms line by line, in a copy, and writes docs/mutants.md: hours for all of
# it. `make mutants MODULES="calc/ledger.py ingest/visit" MINUTES=20` tries those only, for so long, SAMPLE=60 so many of
# each at most; what was tried is kept.
mutants: export DEWLINE_BUSY ?= 0.5
mutants: $(TO_TEST)
	@nice .venv/bin/python -m tests.mutants $(MODULES)

# Rewrites requirements.lock from pyproject.toml, keeping what is pinned; `make lock UPGRADE=--upgrade` takes the newest
# of everything. Needs uv on the PATH. First what runs, then what the tests add; extras stay, so that each line is whole.
lock: UV := uv pip compile --quiet --universal --generate-hashes --no-strip-extras --python-version 3.11 --no-header \
	--no-annotate $(UPGRADE)
lock:
	mkdir -p .venv
	cp requirements.lock .venv/run.lock
	cp requirements.lock .venv/all.lock
	$(UV) --group build pyproject.toml -o .venv/run.lock
	$(UV) --group build --group dev -c .venv/run.lock pyproject.toml -o .venv/all.lock
	{ cat .venv/run.lock; echo '$(TESTS_FROM_HERE)'; \
	  awk 'NR == FNR { runs[$$0]; next } /^[^ ]/ { wanted = !($$0 in runs) } wanted' .venv/run.lock .venv/all.lock; \
	} > requirements.lock
	echo pip | $(UV) - -o tests/install/pips/newest.lock

# The browser, the brokers and the buses that the tests talk to; installs what is missing where it may.
system-packages:
	@sh tests/system_packages.sh

# setuptools first: it builds what comes only as source, from what is here and not from what is newest somewhere.
$(TO_RUN): requirements.lock pyproject.toml
	@$(PYTHON) -m venv .venv || { echo "Python cannot make an environment here: install the package python3-venv." >&2; exit 1; }
	@echo "Installing the pinned packages, once (less than a minute)."
	@sed '/^$(TESTS_FROM_HERE)/,$$d' requirements.lock > .venv/run.lock
	@awk '/^[^ ]/ { wanted = /^setuptools==/ } wanted' .venv/run.lock > .venv/build.lock
	@$(PIP) $(AS_LOCKED) --no-compile -r .venv/build.lock
	@$(PIP) $(AS_LOCKED) -r .venv/run.lock
	@$(PIP) --no-index --no-deps --no-build-isolation -e .
	@.venv/bin/pip check
	@touch $@

$(TO_TEST): $(TO_RUN)
	@$(PIP) $(AS_LOCKED) --no-compile -r requirements.lock
	@.venv/bin/pip check
	@touch $@

$(TO_CHECK_JAVASCRIPT): tests/javascript/package-lock.json
	@$(JAVASCRIPT) ci --no-audit --no-fund

# The installers that the tests install with, beside the one that Python brings.
$(PIPS): $(TO_TEST) $(wildcard tests/install/pips/*.lock)
	@for lock in tests/install/pips/*.lock; do \
	  $(PIP) $(AS_LOCKED) --no-compile --upgrade --target .venv/pips/$$(basename $$lock .lock) -r $$lock || exit 1; done
	@touch $@

clean:
	rm -rf .venv bench-data
