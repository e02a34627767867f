# Two commands on a fresh machine: `make demo` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
WORKERS ?= 2

.PHONY: demo test lint check docs proof bench grade wheel clean browser simulator

demo: $(VENV)/.installed
	$(BIN)/reworkkit demo --into demo

test: $(VENV)/.test browser simulator
	$(MAKE) --no-print-directory lint
	$(BIN)/python -m pytest -q -n $(WORKERS) -m "not proof" --validation check

lint: $(VENV)/.test
	$(BIN)/ruff check reworkkit tests
	$(BIN)/mypy

docs: $(VENV)/.test
	$(BIN)/python -m tests.generate_docs
	$(BIN)/python -m pytest -q -n $(WORKERS) -m "not proof" --validation write --deselect tests/house/test_docs.py

proof: $(VENV)/.test
	$(BIN)/python -m pytest -q -m proof --timeout 3600 --hypothesis-profile searching

bench: $(VENV)/.test
	$(BIN)/python -m tests.bench

grade: $(VENV)/.test
	$(BIN)/python ../shared/real-boards/grade.py --tool $(BIN)/reworkkit

wheel: $(VENV)/.test
	$(BIN)/python -m build --wheel --no-isolation

# The browser and the circuit simulator come from the system's package manager; tests say so where neither can be had.
browser:
	@command -v chromium >/dev/null || command -v chromium-browser >/dev/null || command -v google-chrome >/dev/null \
	  || { apt-get update -qq && apt-get install -y -qq chromium; } || true

simulator:
	@command -v ngspice >/dev/null || { apt-get update -qq && apt-get install -y -qq ngspice; } || true

$(VENV)/.installed: pyproject.toml constraints.txt
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install -q --disable-pip-version-check -c constraints.txt -e .
	touch $@

$(VENV)/.test: $(VENV)/.installed
	$(BIN)/python -m pip install -q --disable-pip-version-check -c constraints.txt -e '.[test,xlsx]'
	touch $@

clean:
	rm -rf $(VENV) demo dist build .pytest_cache .mypy_cache .ruff_cache .hypothesis
