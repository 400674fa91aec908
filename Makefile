# Each task makes its own virtual environment (.venv) on first use.
# Without make: python tools/tasks.py TASK
PYTHON ?= python3
.PHONY: demo test test-all lint bench
demo test test-all lint bench:
	$(PYTHON) tools/tasks.py $@
