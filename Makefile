# make            the program           make demo     install what is missing, build, run the demo job
# make test       the same for every test (what .ci/run calls)
# make check      every test of this build mode; MODULES="base measure" for some
# make sanitize   tests, sanitized      make tidy     static analysis
# make coverage   tests, with coverage  make format   lay the code out
# make fuzz       fuzz for FUZZ_SECONDS make layers   who may include whom
# make bench      speed, as ratios      make headers  each header stands alone
# make compare    bands against other methods, where their packages are installed
# make prove      the prover beside SPIN, at length   make mutants  faults put into the prover
# make docs       rewrite docs/diagnostics.md   make install, uninstall   PREFIX, DESTDIR
#
# MODE picks the build: release (default), debug, sanitize, coverage, fuzz.
# Each mode has its own folder under build/, so switching costs nothing.

MODE         ?= release
PROGRAM      := banksman
VERSION      := 0.1
PREFIX       ?= /usr/local
DESTDIR      ?=
FUZZ_SECONDS ?= 60
BUILD_ROOT   ?= build
BUILD        := $(BUILD_ROOT)/$(MODE)
MODULES      ?= $(patsubst src/%/,%,$(wildcard src/*/))

LIBRARIES    := yaml-0.1 sqlite3 gsl readline libutf8proc jansson
WARNINGS     := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes \
                -Wmissing-prototypes -Wwrite-strings -Wvla -Wformat=2 -Wundef \
                -Wcast-qual -Wswitch-enum -Werror
CFLAGS       ?= -O2 -g
CPPFLAGS     += -Iinclude -Isrc -I$(BUILD) -D_XOPEN_SOURCE=700 -DBANKSMAN_VERSION='"$(VERSION)"' \
                -DBANKSMAN_DATA='"$(PREFIX)/share/banksman"'
FLOATING     := -ffp-contract=off   # the same digits on every machine
ALL_CFLAGS    = -std=c11 $(FLOATING) $(WARNINGS) $(CFLAGS) $(MODE_FLAGS) -MMD -MP
LDLIBS       += $(shell pkg-config --libs $(LIBRARIES)) -lmd -lm

MODE_FLAGS_release  := -D_FORTIFY_SOURCE=2 -fstack-protector-strong
MODE_FLAGS_debug    := -O0
MODE_FLAGS_sanitize := -O1 -fno-omit-frame-pointer -fsanitize=address,undefined \
                       -fno-sanitize-recover=all
MODE_FLAGS_coverage := -O0 --coverage
MODE_FLAGS_fuzz     := -O1 -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all
MODE_FLAGS          := $(MODE_FLAGS_$(MODE))
ifeq ($(MODE),fuzz)
CC := clang
endif

SOURCES      := $(foreach m,$(MODULES),$(wildcard src/$(m)/*.c))
HEADERS      := $(wildcard include/*/*.h src/*/*.h)
CORE         := $(patsubst src/%.c,$(BUILD)/%.o,$(filter-out src/command/main.c,$(SOURCES)))
SUPPORT      := $(patsubst tests/%.c,$(BUILD)/tests/%.o,$(wildcard tests/support/*.c))
TESTS        := $(patsubst tests/%.c,$(BUILD)/tests/%,$(foreach m,$(MODULES),$(wildcard tests/$(m)/test_*.c)))
FUZZERS      := $(patsubst tests/fuzz/fuzz_%.c,%,$(wildcard tests/fuzz/fuzz_*.c))

.PHONY: all demo test bench compare install uninstall check check-fixtures check-record check-program replay sanitize valgrind coverage \
        fuzz docs tidy format format-check layers headers all-checks clean prove mutants FORCE
.DELETE_ON_ERROR:
.SECONDARY:

all: $(BUILD)/$(PROGRAM)

# --- the two commands of a newcomer --------------------------------------------

DEMO := $(PROGRAM) start compression_test -m rookdale_van
demo:
	@.ci/install build
	@$(MAKE) --no-print-directory -j2 all
	@mkdir -p build/demo
	@if [ -t 0 ] && [ -t 1 ]; then \
	  BANKSMAN_HOME=build/demo $(BUILD)/$(DEMO); [ $$? -le 1 ]; \
	else \
	  BANKSMAN_HOME=build/demo $(BUILD)/$(DEMO) --answers compression_test_rookdale_van; fi

test:
	@.ci/install test
	@$(MAKE) --no-print-directory layers headers
	@$(MAKE) --no-print-directory -j2 check check-record replay
	@$(MAKE) --no-print-directory check-program
	@$(MAKE) --no-print-directory -j2 MODE=sanitize check replay
	@$(MAKE) --no-print-directory valgrind
	@echo "Every test passed."

# --- building --------------------------------------------------------------------

$(BUILD)/$(PROGRAM): $(BUILD)/command/main.o $(BUILD)/core.a
	@echo "LINK $@"
	@$(CC) $(ALL_CFLAGS) -o $@ $^ $(LDFLAGS) $(LDLIBS)

$(BUILD)/core.a: $(CORE) $(BUILD)/modules
	@rm -f $@
	@ar qcs $@ $(CORE)

# Which modules are in it: written anew only when others are wanted than the last time.
$(BUILD)/modules: FORCE
	@mkdir -p $(@D)
	@echo $(MODULES) | cmp -s - $@ || echo $(MODULES) > $@

$(BUILD)/record/schema.o: $(BUILD)/record/record_sql.h
$(BUILD)/record/record_sql.h: schemas/record.sql src/record/embed.awk
	@mkdir -p $(@D)
	awk -f src/record/embed.awk -v name=record_sql $< > $@

$(BUILD)/%.o: src/%.c
	@mkdir -p $(@D)
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) $(ALL_CFLAGS) -c -o $@ $<

$(BUILD)/tests/%.o: tests/%.c
	@mkdir -p $(@D)
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) -Itests $(ALL_CFLAGS) -c -o $@ $<

$(BUILD)/tests/%: tests/%.c $(BUILD)/core.a
	@mkdir -p $(@D)
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) -Itests $(ALL_CFLAGS) -o $@ $< $(BUILD)/core.a $(LDFLAGS) $(LDLIBS) -lcmocka

# --- tests -------------------------------------------------------------------

check: $(TESTS) $(if $(filter command,$(MODULES)),check-fixtures)
	@set -e; for t in $(TESTS); do echo "== $$t"; $$t; done

# Fixtures carry their expectations; the documents hold examples that are run; schemas and the
# decoder's own tables are compared.
FIXTURE_TESTS := procedures/test_fixtures procedures/test_format_docs procedures/test_shipped
FIXTURE_TOOLS := schemas/tell docs/list_findings
$(FIXTURE_TESTS:%=$(BUILD)/tests/%) $(FIXTURE_TOOLS:%=$(BUILD)/tests/%): \
$(BUILD)/tests/%: tests/%.c tests/procedures/fixture.c tests/procedures/fixture.h $(BUILD)/core.a
	@mkdir -p $(@D)
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) -Itests $(filter-out -MMD -MP,$(ALL_CFLAGS)) -o $@ $< \
	  tests/procedures/fixture.c $(BUILD)/core.a $(LDFLAGS) $(LDLIBS) -lcmocka

check-fixtures: $(FIXTURE_TESTS:%=$(BUILD)/tests/%) $(FIXTURE_TOOLS:%=$(BUILD)/tests/%)
	@set -e; for t in $(FIXTURE_TESTS); do echo "== $$t"; $(BUILD)/tests/$$t; done
	@python3 tests/schemas/test_schemas.py $(BUILD)/tests/schemas/tell
	@python3 -B tests/procedures/test_safety_library.py
	@$(BUILD)/tests/docs/list_findings --check docs/diagnostics.md

# The prover beside SPIN and beside the engine; what they share is compiled once.
ORACLE := $(patsubst %,$(BUILD)/tests/verify/%.o,oracle promela random_procedure spin_run)
$(BUILD)/tests/verify/test_spin $(BUILD)/tests/verify/prove $(BUILD)/tests/verify/tell_verdicts: \
$(BUILD)/tests/verify/%: tests/verify/%.c $(ORACLE) $(BUILD)/core.a
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) -Itests $(ALL_CFLAGS) -o $@ $< $(ORACLE) $(BUILD)/core.a $(LDFLAGS) $(LDLIBS) -lcmocka
$(BUILD)/tests/verify/test_walks: tests/verify/test_walks.c $(BUILD)/tests/verify/walker.o $(ORACLE) $(BUILD)/core.a
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) -Itests $(ALL_CFLAGS) -o $@ $< $(BUILD)/tests/verify/walker.o $(ORACLE) \
	  $(BUILD)/core.a $(LDFLAGS) $(LDLIBS) -lcmocka

# At length, and elsewhere than the ordinary test looks.  Verdicts are kept for `make mutants`.
PROVE_COUNT ?= 2000
PROVE_SEED  ?= 100000
PROVE_WALKS ?= 100000
VERDICTS    := $(BUILD)/prove/verdicts-$(PROVE_COUNT)-$(PROVE_SEED).txt
prove: $(BUILD)/tests/verify/prove $(BUILD)/tests/verify/test_walks
	@mkdir -p $(dir $(VERDICTS))
	@$(BUILD)/tests/verify/prove $(PROVE_COUNT) $(PROVE_SEED) 2 $(VERDICTS).new
	@mv $(VERDICTS).new $(VERDICTS)
	@$(BUILD)/tests/verify/test_walks $(PROVE_WALKS) $(PROVE_SEED)

$(VERDICTS): $(BUILD)/tests/verify/prove
	@mkdir -p $(dir $@)
	@$< $(PROVE_COUNT) $(PROVE_SEED) 2 $@

mutants: $(BUILD)/tests/verify/tell_verdicts.o $(ORACLE) $(BUILD)/core.a | $(VERDICTS)
	@python3 -B tests/verify/run_mutants.py $(VERDICTS) tests/verify/mutants/list.txt $(BUILD)/mutants \
	  -- $(CC) $(CPPFLAGS) -Itests -std=c11 $(FLOATING) $(CFLAGS) \
	  -- $(BUILD)/tests/verify/tell_verdicts.o $(ORACLE) $(BUILD)/core.a $(LDFLAGS) $(LDLIBS)

# Every input that ever broke us, under the ordinary compiler.
replay: $(FUZZERS:%=$(BUILD)/replay_%)
	@set -e; for f in $(FUZZERS); do echo "== replay $$f"; $(BUILD)/replay_$$f tests/fuzz/corpus/$$f/*; done

$(BUILD)/replay_%: tests/fuzz/fuzz_%.c tests/fuzz/replay_corpus.c $(BUILD)/core.a
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) -Itests $(filter-out -MMD -MP,$(ALL_CFLAGS)) -o $@ $^ $(LDFLAGS) $(LDLIBS)

# The JSON of every kind of event against its schema.
check-record: $(BUILD)/tests/record/test_event_json
	@python3 tests/record/check_event_schema.py schemas/event.schema.json $<

# The program as a person meets it: commands, a pseudo-terminal, kill -9.
check-program: $(BUILD)/$(PROGRAM)
	@python3 -B tests/command/test_commands.py $<
	@python3 -B tests/command/test_walk.py $<
	@python3 -B tests/command/test_parts.py $<
	@python3 -B tests/command/test_gauges.py $<
	@python3 -B tests/published/run_cases.py $<
	@python3 -B tests/report/check_outputs.py $<

sanitize:
	$(MAKE) MODE=sanitize check replay

# Memory as valgrind sees it: the tests that work on what people wrote, and the program.
MEMCHECK := valgrind -q --error-exitcode=9 --leak-check=full --errors-for-leak-kinds=definite
VALGRIND_TESTS := base/test_text base/test_diagnostic measure/test_quantity expression/test_parser \
                  expression/test_evaluator procedure/test_decode procedure/test_names \
                  safety/test_conditions conversation/test_session record/test_event_json \
                  report/test_text_card
valgrind: $(VALGRIND_TESTS:%=$(BUILD)/tests/%) $(BUILD)/$(PROGRAM)
	@set -e; for t in $(VALGRIND_TESTS); do echo "== valgrind $$t"; \
	  $(MEMCHECK) $(BUILD)/tests/$$t >/dev/null; done
	@echo "== valgrind $(PROGRAM)"
	@rm -rf build/valgrind && mkdir -p build/valgrind
	@$(MEMCHECK) $(BUILD)/$(PROGRAM) check procedures/*.yaml >/dev/null
	@BANKSMAN_HOME=build/valgrind $(MEMCHECK) $(BUILD)/$(PROGRAM) start \
	  --answers compression_test_rookdale_van >/dev/null
	@BANKSMAN_HOME=build/valgrind $(MEMCHECK) $(BUILD)/$(PROGRAM) card >/dev/null

# MISSED=1 lists what was not taken; tests/coverage.awk says what is left out, and why.
coverage:
	@find build/coverage -name '*.gcda' -delete 2>/dev/null || true
	$(MAKE) MODE=coverage check
	@for c in $(filter-out src/command/%,$(SOURCES)); do \
	  gcov -t -b -c -o build/coverage/$$(dirname $${c#src/}) $$c 2>/dev/null; done \
	  | awk -v missed=$(MISSED) -f tests/coverage.awk

fuzz:
	$(MAKE) MODE=fuzz $(FUZZERS:%=build/fuzz/fuzz_%)
	@set -e; for f in $(FUZZERS); do mkdir -p build/fuzz/found/$$f; \
	  ./build/fuzz/fuzz_$$f -max_total_time=$(FUZZ_SECONDS) -timeout=5 \
	    -artifact_prefix=build/fuzz/ build/fuzz/found/$$f tests/fuzz/corpus/$$f; done

build/fuzz/fuzz_%: tests/fuzz/fuzz_%.c build/fuzz/core.a
	clang $(CPPFLAGS) -Itests $(filter-out -MMD -MP,$(ALL_CFLAGS)) -fsanitize=fuzzer -o $@ $^ $(LDLIBS)

# Ratios against a peer that does the least possible, in the same run; nothing here passes or fails.
BENCH := $(BUILD_ROOT)/bench
$(BENCH)/%: tests/bench/%.c $(BUILD)/core.a
	@mkdir -p $(@D)
	@echo "CC $<"
	@$(CC) $(CPPFLAGS) $(filter-out -MMD -MP,$(ALL_CFLAGS)) -o $@ $< $(BUILD)/core.a $(LDFLAGS) $(LDLIBS)
$(BENCH)/bare_check: LDFLAGS += -Wl,--as-needed
bench: all $(BENCH)/measure $(BENCH)/bare_check $(BENCH)/bare_start $(BENCH)/append $(BENCH)/check_proof
	@python3 -B tests/bench/drive_bench.py $(BUILD)/$(PROGRAM) $(BENCH)

# Debian: python3-uncertainties, python3-numpy, python3-scipy, r-base-core; what is missing is skipped.
compare: $(BUILD)/$(PROGRAM) $(BUILD)/tests/outside/tell_numbers
	@/usr/bin/python3 -B tests/outside/compare_bands.py $^
	@/usr/bin/python3 -B tests/outside/compare_statistics.py $(BUILD)/tests/outside/tell_numbers
	@/usr/bin/python3 -B tests/outside/error_rates.py $(BUILD)/tests/outside/tell_numbers

# --- keeping the shape -------------------------------------------------------

tidy:
	clang-tidy --quiet $(SOURCES) -- -std=c11 $(CPPFLAGS)

format:
	clang-format -i $(SOURCES) $(HEADERS) $(wildcard tests/*/*.[ch])

format-check:
	clang-format --dry-run -Werror $(SOURCES) $(HEADERS) $(wildcard tests/*/*.[ch])

layers:
	@awk -f src/layers.awk src/layers.txt $(SOURCES) $(HEADERS)

headers:
	@set -e; for h in $(filter-out %_list.h,$(HEADERS)); do \
	  $(CC) -std=c11 $(CPPFLAGS) $(WARNINGS) -fsyntax-only -x c -include $$h /dev/null; done

all-checks: format-check layers headers check sanitize tidy

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/share/doc/banksman
	install -m 755 $(BUILD)/$(PROGRAM) $(DESTDIR)$(PREFIX)/bin/
	@for f in $$(find procedures schemas -type f); do \
	  install -D -m 644 $$f $(DESTDIR)$(PREFIX)/share/banksman/$$f; done
	install -m 644 README.md docs/*.md $(DESTDIR)$(PREFIX)/share/doc/banksman/

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/$(PROGRAM)
	rm -rf $(DESTDIR)$(PREFIX)/share/banksman $(DESTDIR)$(PREFIX)/share/doc/banksman

docs: $(BUILD)/tests/docs/list_findings
	$< > docs/diagnostics.md.new && mv docs/diagnostics.md.new docs/diagnostics.md

clean:
	rm -rf build

-include $(shell find $(BUILD_ROOT) -name '*.d' 2>/dev/null)
