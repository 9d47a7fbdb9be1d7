PYTHON ?= python3
BIN := .venv/bin
PORTS := rp2 esp32
SEED ?= 1
SECONDS ?= 3600
PICO_IMAGES ?= 1.20.0 1.28.0
PACKAGES := host calibration shared_protocol firmware
TESTS ?=
PORTABLE_CORE := tests/portable tests/host/live tests/host/files tests/host/storage/test_store.py tests/host/rig \
	tests/host/device/link/test_windows.py tests/host/cli/test_console.py
FIRMWARE_MYPY = MYPYPATH=.venv/stubs/$$port $(BIN)/mypy --config-file firmware/mypy.ini \
	--custom-typeshed-dir .venv/stubs/$$port --cache-dir .mypy_cache/$$port

# tests start hundreds of commands: they are compiled once, whatever the caller's environment says
export PYTHONDONTWRITEBYTECODE :=

.PHONY: demo test portable portable-core long look pico soak fuzz mutants lint style types workflow audit wheels lock lowest bench accuracy faults schematics manual docs pictures carrier clean

demo: .venv/installed
	$(BIN)/hingeline demo

# all but the commands as on Windows, which portable-core tries
test: .venv/installed
	$(BIN)/pytest -n 4 --dist worksteal --ignore tests/portable

# what takes more than its share of five minutes: install, doctor, screen and keys, many sensors, warming up
long: .venv/installed
	$(BIN)/pytest -n 4 --dist worksteal -m long

# on a computer as poor as Windows (tests/portable): a checkout with CRLF, no module that only POSIX has, code page 1252
portable: .venv/installed
	$(BIN)/python -m tests.portable.checkout build/portable
	cd build/portable && PYTHONPATH=$(subst $(eval) ,:,$(addprefix $(CURDIR)/build/portable/,$(PACKAGES))) \
		$(CURDIR)/$(BIN)/python -m pytest -p tests.portable.plugin -n 4 --dist worksteal $(TESTS)

# the part of it that differs most from POSIX, in about a minute
portable-core:
	$(MAKE) portable TESTS="$(PORTABLE_CORE)"

# pages in a real browser, screens in a real terminal: needs chromium and tmux on the path (Debian: apt install chromium tmux); pictures go to build/look
look: .venv/installed
	$(BIN)/pytest -m browser

# on an emulated Pico, with the oldest MicroPython that will do and the newest: the images are fetched, or PICO_IMAGES=...
# names files or other versions
pico: .venv/installed
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[emulated]'
	for image in $(PICO_IMAGES); do PICO_IMAGE=$$image $(BIN)/pytest -m emulated || exit 1; done

# a day of the usual stream in firmware and host, every line looked at; three gigabytes in the temporary folder
soak: .venv/installed
	$(BIN)/pytest -m soak

# all that others write, guided by coverage, an hour in all or SECONDS=...; then every property with twenty times the
# examples, other ones for another SEED. atheris has wheels for Linux and CPython up to 3.13
fuzz: .venv/installed
	$(BIN)/python -m pip install --quiet --disable-pip-version-check 'atheris>=2.3,<4'
	$(BIN)/python -m tests.fuzz $(SECONDS)
	$(BIN)/pytest -n 2 -m hypothesis --hypothesis-profile thorough --hypothesis-seed $(SEED)

# breaks key lines one by one and looks which test notices, in docs/mutants.md; then lines drawn at random in every room
mutants: .venv/installed
	$(BIN)/python -m tests.mutation
	$(BIN)/python -m tests.random_mutants --seed $(SEED)

lint: style types workflow audit wheels lowest

style: .venv/installed
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: .venv/installed .venv/stubs
	$(BIN)/python -m pip check --disable-pip-version-check
	for platform in linux darwin win32; do \
		$(BIN)/mypy --platform $$platform --cache-dir .mypy_cache/$$platform || exit 1; \
	done
	MYPYPATH=schematics $(BIN)/mypy schematics/*.py schematics/carrier/*.py
	MYPYPATH=docs $(BIN)/mypy docs/*.py
	for port in $(PORTS); do $(FIRMWARE_MYPY) || exit 1; done

# the workflow for the day the repository stands on a public host: against the host's published schema
workflow: .venv/installed .venv/audit
	PYTHONPATH=.venv/audit $(BIN)/python -m check_jsonschema --builtin-schema vendor.github-workflows .github/workflows/ci.yml

# holes that are known in what is installed: asks PyPI's database, and names what that can't tell about
audit: .venv/installed .venv/audit
	$(BIN)/python -m pip freeze --exclude-editable > .venv/installed.txt
	PYTHONPATH=.venv/audit $(BIN)/python -m pip_audit --no-deps --disable-pip --progress-spinner off --requirement .venv/installed.txt

# one table, on the terminal and in docs/benchmarks.md; some minutes, of a machine that does nothing else (Linux)
bench: .venv/installed
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[bench]'
	$(BIN)/python -m tests.bench

# accuracy chip by chip, and of surfaces that creep, in docs/accuracy.md: some minutes
accuracy: .venv/installed
	$(BIN)/python -m tests.bench.accuracy

# every fault of a sensor in the midst of a measurement, in docs/faults.md: some minutes
faults: .venv/installed
	$(BIN)/python -m tests.faults

schematics: .venv/installed
	$(BIN)/python schematics/draw.py
	$(BIN)/python schematics/carrier/template.py

manual: .venv/installed
	$(BIN)/python docs/manual.py

# reference, figures, and the screens of the pages, typed before a virtual bench: some minutes (Linux, macOS)
docs: .venv/installed
	$(BIN)/python docs/reference.py
	$(BIN)/python docs/figures.py
	$(BIN)/python docs/screens.py

# the pictures of README.md, of the virtual bench: two minutes (Linux, macOS), needs chromium on the path
pictures: .venv/installed
	$(BIN)/python docs/pictures.py

# Needs OpenSCAD; the rendered parts are kept, so that nothing else does.
carrier: .venv/installed
	$(BIN)/python schematics/carrier/render.py

# every package as the lock has it, by its hash
.venv/installed: pyproject.toml requirements/development.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 10) and "$(PYTHON) is Python %d.%d, hingeline needs 3.10 \
	or newer: install one and name it, such as make PYTHON=python3.12" % sys.version_info[:2])'
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes --requirement requirements/development.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
	touch $@

# the lock anew, for all systems and Pythons: after a change of the dependencies, and now and then
lock:
	$(PYTHON) -m venv .venv/uv
	.venv/uv/bin/pip install --quiet --disable-pip-version-check 'uv>=0.5,<1'
	.venv/uv/bin/uv pip compile --quiet --upgrade --universal --generate-hashes --python-version 3.10 --extra dev \
		--no-header --no-annotate --output-file requirements/development.txt pyproject.toml

# whether the oldest versions of the dependencies still do: tried when they change, some minutes
lowest: .venv/lowest-tried

.venv/lowest-tried: .venv/installed
	$(BIN)/python -m tests.lowest
	touch $@

# Apart from the packages: MicroPython's stubs would shadow those of CPython's library.
.venv/stubs: .venv/installed
	rm -rf $@
	for port in $(PORTS); do $(BIN)/pip install --quiet --target $@/$$port micropython-$$port-stubs || exit 1; done
	touch $@

# Apart from the packages: the auditors' own dependencies are none of ours.
.venv/audit: .venv/installed
	rm -rf $@
	$(BIN)/pip install --quiet --target $@ 'pip-audit>=2.7,<3' 'check-jsonschema>=0.29,<1'
	touch $@

# whether every dependency has wheels for Windows and macOS: looked up when the dependencies change, some minutes
wheels: .venv/wheels

.venv/wheels: .venv/installed
	$(BIN)/python -m tests.wheels
	touch $@

clean:
	rm -rf .venv
