# SPDX-License-Identifier: GPL-3.0-or-later
# evenfeed: `make help` lists the targets.

VERSION := 0.1.0
SOVERSION := 0

# release, debug, san (address and undefined sanitizers), clang (release, built by clang), cover, fuzz
VARIANT ?= release
PREFIX ?= /usr/local
BINDIR ?= $(PREFIX)/bin
LIBDIR ?= $(PREFIX)/lib
INCLUDEDIR ?= $(PREFIX)/include
MANDIR ?= $(PREFIX)/share/man
DATADIR ?= $(PREFIX)/share
FUZZ_SECONDS ?= 20
CLANG ?= clang
B := build/$(VARIANT)

V ?= 0
ifeq ($(V),0)
Q := @
say = @printf '  %-7s %s\n' '$(1)' '$(2)'
else
Q :=
say = @:
endif

# ---- compiler -------------------------------------------------------------------------------------------

ifeq ($(origin CC),default)
CC := $(if $(filter clang fuzz,$(VARIANT)),$(CLANG),gcc)
endif
WARN := -Wall -Wextra -Wpedantic -Wconversion -Wsign-conversion -Wshadow -Wstrict-prototypes \
  -Wmissing-prototypes -Wold-style-definition -Wwrite-strings -Wcast-qual -Wcast-align -Wpointer-arith \
  -Wundef -Wvla -Wformat=2 -Wimplicit-fallthrough -Wredundant-decls -Wnull-dereference
ifeq ($(findstring clang,$(CC)),)
WARN += -Wlogical-op -Wduplicated-cond -Wduplicated-branches
endif
ifneq ($(WERROR),)
WARN += -Werror
endif
OPT_release := -O2 -g -DNDEBUG
OPT_clang := $(OPT_release)
OPT_debug := -O0 -g3
OPT_san := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
OPT_cover := -O0 -g --coverage
OPT_fuzz := -O1 -g -fsanitize=fuzzer-no-link,address,undefined
pkg = $(shell pkg-config $(1) $(2) 2>/dev/null || echo "$(3)")
LIBRARIES := $(call pkg,--libs,yaml-0.1,-lyaml) $(call pkg,--libs,jansson,-ljansson) -lxlsxwriter -lglpk -lgsl -lgslcblas \
  -lunistring -lm -lpthread
LIBRARY_CFLAGS := $(call pkg,--cflags,yaml-0.1 jansson,)
EF_CFLAGS = -std=c11 -D_POSIX_C_SOURCE=200809L -fPIC -fno-semantic-interposition -pthread -ffp-contract=off $(WARN) \
  $(OPT_$(VARIANT)) -Iinclude -Isrc -DEF_VERSION='"$(VERSION)"' $(LIBRARY_CFLAGS)
LINK_san := -fsanitize=address,undefined
LINK_cover := --coverage
LINK_fuzz := -fsanitize=address,undefined
LINK = $(CC) $(LINK_$(VARIANT)) $(LDFLAGS)

# ---- files ----------------------------------------------------------------------------------------------

LIB_SRC := $(sort $(shell find src -name '*.c' -not -path 'src/cli/*'))
CLI_SRC := $(sort $(wildcard src/cli/*.c))
TEST_SRC := $(sort $(shell find tests -name 'test_*.c'))
T ?=
TEST_WANTED := $(if $(T),$(foreach source,$(TEST_SRC),$(if $(findstring $(T),$(source)),$(source))),$(TEST_SRC))
HELP_SRC := $(sort $(wildcard tests/lib/*.c))
BENCH_SRC := $(sort $(wildcard tests/bench/bench_*.c))
FUZZ_SRC := $(sort $(wildcard tests/fuzz/fuzz_*.c))
TONGUES := $(sort $(wildcard src/base/tongue/*.po))
LIB_OBJ := $(LIB_SRC:%.c=$(B)/%.o) $(B)/tongues.o
CLI_OBJ := $(CLI_SRC:%.c=$(B)/%.o)
HELP_OBJ := $(HELP_SRC:%.c=$(B)/%.o)
TEST_BIN := $(TEST_WANTED:%.c=$(B)/%)
BENCH_BIN := $(BENCH_SRC:%.c=$(B)/%)
REPLAY_BIN := $(FUZZ_SRC:%.c=$(B)/%-replay)
STATIC := $(B)/libevenfeed.a
SHARED := $(B)/libevenfeed.so.$(SOVERSION)
PROGRAM := $(if $(CLI_SRC),$(B)/evenfeed)
DEMO ?= scenarios/cereal-seed.yaml

.PHONY: all
all: $(STATIC) $(SHARED) $(PROGRAM) ## library (static and shared) and program

# Before the first object: are the compiler and the libraries there?
PACKAGES := docs/packaging/packages.sh
build/packages-build.ok: $(PACKAGES)
	$(Q)mkdir -p build
	$(Q)sh $(PACKAGES) build $(if $(filter demo check deps,$(MAKECMDGOALS)),install,look) && touch $@
build/packages-check.ok: $(PACKAGES) | build/packages-build.ok
	$(Q)mkdir -p build
	$(Q)sh $(PACKAGES) check $(if $(filter check deps,$(MAKECMDGOALS)),install,look) && touch $@

.PHONY: deps
deps: build/packages-build.ok build/packages-check.ok ## system packages that are missing (Debian; as root or with sudo)

$(B)/%.o: %.c | build/packages-build.ok
	$(call say,CC,$<)
	$(Q)mkdir -p $(@D)
	$(Q)$(CC) $(EF_CFLAGS) -MMD -MP $(CPPFLAGS) $(CFLAGS) -c -o $@ $<

# The languages of reports, compiled in.
$(B)/tongues.c: $(TONGUES) src/base/tongue/build.sh | build/packages-build.ok
	$(call say,PO,$(TONGUES))
	$(Q)mkdir -p $(@D)
	$(Q)sh src/base/tongue/build.sh $(TONGUES) >$@.new && mv $@.new $@
$(B)/tongues.o: $(B)/tongues.c
	$(call say,CC,$<)
	$(Q)$(CC) $(EF_CFLAGS) -MMD -MP $(CPPFLAGS) $(CFLAGS) -c -o $@ $<

$(STATIC): $(LIB_OBJ)
	$(call say,AR,$@)
	$(Q)rm -f $@ && ar rcsD $@ $^

EXPORTS := docs/packaging/evenfeed.map
$(SHARED): $(LIB_OBJ) $(EXPORTS)
	$(call say,LD,$@)
	$(Q)$(LINK) -shared -Wl,-soname,libevenfeed.so.$(SOVERSION) -Wl,--version-script=$(EXPORTS) -o $@ $(LIB_OBJ) $(LIBRARIES)
	$(Q)ln -sf libevenfeed.so.$(SOVERSION) $(B)/libevenfeed.so

$(PROGRAM): $(CLI_OBJ) $(STATIC)
	$(call say,LD,$@)
	$(Q)$(LINK) -o $@ $^ $(LIBRARIES)

$(HELP_OBJ): | build/packages-check.ok
$(TEST_BIN): $(B)/%: $(B)/%.o $(HELP_OBJ) $(STATIC)
	$(call say,LD,$@)
	$(Q)$(LINK) -o $@ $^ -lcmocka -ludunits2 $(LIBRARIES)
$(TEST_SRC:%.c=$(B)/%.o): | build/packages-check.ok
$(BENCH_BIN): $(B)/%: $(B)/%.o $(HELP_OBJ) $(STATIC)
	$(call say,LD,$@)
	$(Q)$(LINK) -o $@ $^ -lcmocka $(LIBRARIES)
$(REPLAY_BIN): $(B)/%-replay: $(B)/%.o $(B)/tests/fuzz/replay.o $(STATIC)
	$(call say,LD,$@)
	$(Q)$(LINK) -o $@ $^ $(LIBRARIES)

-include $(shell find build -name '*.d' 2>/dev/null)

# ---- using it -------------------------------------------------------------------------------------------

.PHONY: demo
demo: $(PROGRAM) ## build, then run the main job on a bundled scenario
	$(Q)printf '\n$$ evenfeed balance %s\n\n' '$(DEMO)'
	$(Q)$(PROGRAM) balance $(DEMO)

# ---- checking it ----------------------------------------------------------------------------------------

.PHONY: tests
tests: build/packages-check.ok $(PROGRAM) $(SHARED) $(TEST_BIN) $(BENCH_BIN) $(REPLAY_BIN) ## builds all that check runs

.PHONY: check
check: tests ## all tests; T=name runs those whose path holds name
	$(Q)B=$(B) CC='$(CC)' VARIANT=$(VARIANT) T='$(T)' sh tests/run.sh $(TEST_BIN)

# A validator of HTML for the tests of reports; they say that they leave it out where it is missing.
HTML_VALIDATE := html-validate@10.17.0
.PHONY: html-validate
html-validate: ## the validator of HTML from the npm registry, for make check (needs npm)
	$(Q)npm install --no-save --no-audit --no-fund --prefix build/npm $(HTML_VALIDATE)

.PHONY: check-valgrind
check-valgrind: $(PROGRAM) $(TEST_BIN) ## all tests under valgrind
	$(Q)B=$(B) VARIANT=$(VARIANT) T='$(T)' RUNNER='valgrind -q --error-exitcode=99 --leak-check=full --show-leak-kinds=definite --errors-for-leak-kinds=definite' sh tests/run.sh $(TEST_BIN)

.PHONY: bench
bench: $(PROGRAM) $(BENCH_BIN) ## benchmarks as CSV on standard output
	$(Q)echo 'name,size,value,unit,spread,reference'
	$(Q)for b in $(BENCH_BIN); do EF_PROGRAM=$(PROGRAM) $$b || exit 1; done

.PHONY: fuzz
fuzz: ## each fuzzer for FUZZ_SECONDS (needs clang)
	$(Q)$(MAKE) --no-print-directory VARIANT=fuzz fuzz-run

.PHONY: fuzz-run
FUZZ_BIN := $(FUZZ_SRC:%.c=$(B)/%)
$(FUZZ_BIN): $(B)/%: $(B)/%.o $(STATIC)
	$(Q)$(CC) -fsanitize=fuzzer,address,undefined -o $@ $^ $(LIBRARIES)
fuzz-run: $(FUZZ_BIN)
	$(Q)for f in $(FUZZ_BIN); do n=$$(basename $$f); mkdir -p build/corpus/$$n; \
	  $$f -max_total_time=$(FUZZ_SECONDS) -timeout=5 build/corpus/$$n tests/fuzz/corpus/$$n || exit 1; done

.PHONY: lint
lint: ## static analysis and the project's own rules of structure
	$(Q)EF_CFLAGS='$(filter-out -W% -DNDEBUG -DEF_VERSION%,$(EF_CFLAGS))' B=$(B) sh tests/lint.sh

FORMAT_FILES = $(shell find src include tests -name '*.[ch]')
.PHONY: fmt
fmt: ## clang-format in place
	$(Q)clang-format -i $(FORMAT_FILES)

.PHONY: fmt-check
fmt-check: ## the same without writing
	$(Q)clang-format --dry-run -Werror $(FORMAT_FILES)

.PHONY: cover
cover: ## line coverage; fails under 95 % in base and model, 90 % elsewhere
	$(Q)find build/cover -name '*.gcda' -delete 2>/dev/null || true
	$(Q)$(MAKE) --no-print-directory VARIANT=cover check
	$(Q)gcovr --root . --object-directory build/cover --filter 'src/(base|model)/' --fail-under-line 95 build/cover
	$(Q)gcovr --root . --object-directory build/cover --filter 'src/' --exclude 'src/(base|model)/' --fail-under-line 90 build/cover

.PHONY: golden
golden: $(PROGRAM) $(B)/tests/model/test_bad $(B)/tests/answers/test_learn_bad $(B)/tests/answers/test_season_plan $(B)/tests/report/test_season ## rewrite the expected outputs; read the difference before committing it
	$(Q)B=$(B) GOLDEN=write sh tests/golden/run.sh
	$(Q)GOLDEN=write $(B)/tests/model/test_bad
	$(Q)GOLDEN=write $(B)/tests/answers/test_learn_bad
	$(Q)GOLDEN=write $(B)/tests/answers/test_season_plan
	$(Q)GOLDEN=write $(B)/tests/report/test_season

.PHONY: words
words: build/packages-build.ok ## adds new messages of the sources to each language, src/base/tongue/*.po
	$(Q)sh tests/tongue/run.sh update

# ---- documents ------------------------------------------------------------------------------------------

.PHONY: docs
docs: $(PROGRAM) ## the generated pages: docs/scenario.md and the man page
	$(Q)$(PROGRAM) language > docs/scenario.md.new && mv docs/scenario.md.new docs/scenario.md
	$(Q)$(PROGRAM) manpage > $(B)/evenfeed.1
	$(Q)echo "docs/scenario.md and $(B)/evenfeed.1 written"

# ---- installing it --------------------------------------------------------------------------------------

.PHONY: install
install: all ## into PREFIX (DESTDIR is honoured)
	install -d $(DESTDIR)$(BINDIR) $(DESTDIR)$(LIBDIR)/pkgconfig $(DESTDIR)$(INCLUDEDIR)/evenfeed $(DESTDIR)$(MANDIR)/man1 \
	  $(DESTDIR)$(DATADIR)/evenfeed/scenarios/order $(DESTDIR)$(DATADIR)/evenfeed/scenarios/examples \
	  $(DESTDIR)$(DATADIR)/evenfeed/scenarios/logs $(DESTDIR)$(DATADIR)/evenfeed/scenarios/seasons \
	  $(DESTDIR)$(DATADIR)/evenfeed/schemas
	install -m 755 $(PROGRAM) $(DESTDIR)$(BINDIR)/evenfeed
	install -m 644 $(STATIC) $(DESTDIR)$(LIBDIR)/
	install -m 755 $(SHARED) $(DESTDIR)$(LIBDIR)/
	ln -sf libevenfeed.so.$(SOVERSION) $(DESTDIR)$(LIBDIR)/libevenfeed.so
	install -m 644 include/evenfeed/*.h $(DESTDIR)$(INCLUDEDIR)/evenfeed/
	install -m 644 scenarios/*.yaml scenarios/*.csv $(DESTDIR)$(DATADIR)/evenfeed/scenarios/
	install -m 644 scenarios/examples/*.yaml scenarios/examples/*.csv $(DESTDIR)$(DATADIR)/evenfeed/scenarios/examples/
	install -m 644 scenarios/order/*.csv $(DESTDIR)$(DATADIR)/evenfeed/scenarios/order/
	install -m 644 scenarios/logs/*.csv $(DESTDIR)$(DATADIR)/evenfeed/scenarios/logs/
	install -m 644 scenarios/seasons/*.yaml scenarios/seasons/*.csv $(DESTDIR)$(DATADIR)/evenfeed/scenarios/seasons/
	install -m 644 docs/schemas/*.json $(DESTDIR)$(DATADIR)/evenfeed/schemas/
	sed -e 's|@PREFIX@|$(PREFIX)|;s|@LIBDIR@|$(LIBDIR)|;s|@INCLUDEDIR@|$(INCLUDEDIR)|;s|@VERSION@|$(VERSION)|' \
	  docs/packaging/evenfeed.pc.in > $(DESTDIR)$(LIBDIR)/pkgconfig/evenfeed.pc
	$(PROGRAM) manpage > $(DESTDIR)$(MANDIR)/man1/evenfeed.1

.PHONY: uninstall
uninstall: ## removes what install put there
	rm -f $(DESTDIR)$(BINDIR)/evenfeed $(DESTDIR)$(LIBDIR)/libevenfeed.a $(DESTDIR)$(LIBDIR)/libevenfeed.so* \
	  $(DESTDIR)$(LIBDIR)/pkgconfig/evenfeed.pc $(DESTDIR)$(MANDIR)/man1/evenfeed.1
	rm -rf $(DESTDIR)$(INCLUDEDIR)/evenfeed $(DESTDIR)$(DATADIR)/evenfeed

.PHONY: dist
dist: ## a source archive of the last commit
	mkdir -p build && git archive --prefix=evenfeed-$(VERSION)/ -o build/evenfeed-$(VERSION).tar.gz HEAD

.PHONY: clean
clean: ## removes build/
	rm -rf build

.PHONY: help
help: ## this list
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*##/\t/' | awk -F'\t' '{printf "  %-16s%s\n", $$1, $$2}'
