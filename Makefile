# brineband: how to build, try, test and install it. DEVELOPERS.md explains each goal.
BUILD ?= build
CFLAGS ?= -O3 -g
PREFIX ?= /usr/local
LIBDIR ?= $(PREFIX)/lib
ZSH_FOLDER ?= site-functions
VERSION = $(shell sed -n 's/.*BB_VERSION "\(.*\)"/\1/p' include/brineband.h)
# Raised when a program built against the library before would no longer run; no matter of the version.
SONAME = libbrineband.so.0

# Asked when first needed, then remembered: the packages may not be there yet when make starts.
once = $(eval $(1) := $(shell $(2)) $(3))$($(1))
FOUND_CFLAGS = $(call once,FOUND_CFLAGS,pkg-config --cflags gsl jansson inih cairo pangocairo)
LIB_LIBS = $(call once,LIB_LIBS,pkg-config --libs gsl jansson inih,-lcsv -lm)
UNIT_LIBS = $(call once,UNIT_LIBS,pkg-config --libs check,$(LIB_LIBS))

WARNINGS = -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror
COMPILE = $(CC) -std=c11 $(WARNINGS) $(CFLAGS) $(CPPFLAGS) -D_XOPEN_SOURCE=700 -fPIC -fvisibility=hidden \
          -MMD -MP -Iinclude -Ilib -Itests -I$(BUILD)/generated $(FOUND_CFLAGS)

objects = $(patsubst %.c,$(BUILD)/%.o,$(wildcard $(1)/*.c))
LIB_OBJECTS = $(call objects,lib)
CLI_OBJECTS = $(call objects,cli)
UNIT_OBJECTS = $(call objects,tests/unit)
SIMULATE_OBJECTS = $(filter-out %/main.o,$(call objects,tests/simulate))
ADVERSARIAL_OBJECTS = $(filter-out %/main.o,$(call objects,tests/adversarial))
CALIBRATION_OBJECTS = $(call objects,tests/calibration)
FUZZERS = $(patsubst tests/fuzz/%.c,$(BUILD)/%,$(wildcard tests/fuzz/fuzz_*.c))
FUZZ_PARTS = $(filter-out $(BUILD)/tests/fuzz/fuzz_%,$(call objects,tests/fuzz))
SUITES = $(patsubst tests/unit/test_%.c,'SUITE(suite_%)',$(sort $(wildcard tests/unit/test_*.c)))
TABLES = $(patsubst reference/%.csv,$(BUILD)/generated/%.inc,$(wildcard reference/materials.csv reference/catalogue.csv reference/corrosion_rates.csv)) \
         $(BUILD)/generated/ground_nodes.inc

# The library that the command is linked with: libbrineband.so makes it need the installed one.
TOOL_LIBRARY ?= $(BUILD)/libbrineband.a

COMPLETION = $(BUILD)/completion/brineband.bash $(BUILD)/completion/_brineband

all: $(BUILD)/brineband $(BUILD)/libbrineband.a $(BUILD)/libbrineband.so $(BUILD)/man/brineband.1 $(COMPLETION)

$(BUILD)/libbrineband.a: $(LIB_OBJECTS)
	rm -f $@
	$(AR) rcs $@ $^
$(BUILD)/$(SONAME): $(LIB_OBJECTS) lib/exports.map
	$(CC) -shared -Wl,-soname,$(SONAME) -Wl,--version-script=lib/exports.map $(CFLAGS) $(LDFLAGS) \
	    -o $@ $(LIB_OBJECTS) $(LIB_LIBS)
$(BUILD)/libbrineband.so: $(BUILD)/$(SONAME)
	ln -sf $(SONAME) $@
$(BUILD)/brineband: $(CLI_OBJECTS) $(TOOL_LIBRARY)
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS)
# The commands' parts, for the tests of what they draw.
$(BUILD)/cli.a: $(filter-out $(BUILD)/cli/main.o,$(CLI_OBJECTS))
	rm -f $@
	$(AR) rcs $@ $^
$(BUILD)/unit: $(UNIT_OBJECTS) $(filter-out %/main.o,$(CALIBRATION_OBJECTS)) $(SIMULATE_OBJECTS) $(ADVERSARIAL_OBJECTS) \
                $(BUILD)/cli.a $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(UNIT_LIBS)
# The manual and the shells' completion, from the commands' own tables.
$(BUILD)/manual: $(BUILD)/cli/generate/manual.o $(BUILD)/cli.a $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS)
$(BUILD)/man/brineband.1: $(BUILD)/manual include/brineband.h $(wildcard cli/man/*)
	sh cli/man/make.sh $(BUILD)
$(BUILD)/completion/%: cli/completion/% $(BUILD)/manual
	@mkdir -p $(@D)
	$(BUILD)/manual completion > $@.table
	sed -e '/^@TABLE@$$/{r $@.table' -e 'd}' $< > $@
	rm $@.table
# Invented visits, and how well the fit's doubt holds on many of them.
$(BUILD)/simulate: $(BUILD)/tests/simulate/main.o $(SIMULATE_OBJECTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS)
$(BUILD)/calibration: $(CALIBRATION_OBJECTS) $(SIMULATE_OBJECTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS)
# clang alone; objects made with -fsanitize=fuzzer-no-link.
$(FUZZERS): $(BUILD)/fuzz_%: $(BUILD)/tests/fuzz/fuzz_%.o $(FUZZ_PARTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) -fsanitize=fuzzer $(LDFLAGS) -o $@ $^ $(LIB_LIBS)

# Visits drawn to mislead the fit, each answer proved.
$(BUILD)/adversarial: $(BUILD)/tests/adversarial/main.o $(ADVERSARIAL_OBJECTS) \
                      $(BUILD)/tests/simulate/typed.o $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS)

$(BUILD)/%.o: %.c | $(TABLES)
	@mkdir -p $(@D)
	$(COMPILE) -c -o $@ $<
# One C initialiser a row: every field a string, read once by lib/.
$(BUILD)/generated/%.inc: reference/%.csv lib/embed.awk
	@mkdir -p $(@D)
	awk -f lib/embed.awk $< > $@
# The quadrature of lib/ground.c, computed by a program of its own.
$(BUILD)/generated/ground_nodes.inc: lib/generate/ground_nodes.c
	@mkdir -p $(@D)
	$(CC) -std=c11 $(WARNINGS) $(CFLAGS) $(CPPFLAGS) $(FOUND_CFLAGS) -o $(@:.inc=) $< $(LDFLAGS) $(LIB_LIBS)
	$(@:.inc=) > $@
# One line a tests/unit/test_NAME.c; rewritten only when that list changes.
$(BUILD)/generated/suites.inc: FORCE
	@mkdir -p $(@D)
	@printf '%s\n' $(SUITES) | cmp -s - $@ || printf '%s\n' $(SUITES) > $@
$(BUILD)/tests/unit/main.o: $(BUILD)/generated/suites.inc

# The tables of lib/body_table_data.c, some ten minutes; kept, for nothing in them changes.
$(BUILD)/body_table: lib/generate/body_table.c lib/spectral.c lib/bessel.c
	@mkdir -p $(@D)
	$(COMPILE) -O3 -o $@ $^ $(LDFLAGS) $(LIB_LIBS)
tables: $(BUILD)/body_table
	$(BUILD)/body_table > $(BUILD)/body_table_data.c
	mv $(BUILD)/body_table_data.c lib/body_table_data.c

# Goals for a fresh machine: fetch what is missing, then start make again to see it.
PACKAGES = @sh tests/packages.sh
AGAIN = @$(MAKE) --no-print-directory --silent --jobs=$(shell nproc)

demo:
	$(PACKAGES) build
	$(AGAIN) all
	@sh cli/demo/demo.sh $(BUILD)/brineband

# README's picture: the demo's card.
picture: demo
	$(BUILD)/brineband card $(BUILD)/demo -o cli/demo/card.svg

check:
	$(PACKAGES) build tests
	$(AGAIN) tested
tested: all $(BUILD)/unit $(BUILD)/calibration
	@sh tests/run.sh $(BUILD)

# gcc's guesses about cut text go wrong among the sanitizers' checks.
SANITIZE = -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
sanitize:
	$(PACKAGES) build tests sanitizers
	$(AGAIN) --output-sync=recurse sanitize-gcc sanitize-clang sanitize-threads
sanitize-gcc:
	@$(MAKE) tested CC=gcc BUILD=$(BUILD)/$@ CFLAGS="$(SANITIZE) -Wno-format-truncation"
sanitize-clang:
	@$(CLANG_SANITIZE) tested fuzzers
	@sh tests/fuzz/run.sh $(BUILD)/$@ short

# Threads on separate objects; what it finds ends it.
THREAD_PARTS = $(BUILD)/tests/threads/threads.o $(BUILD)/tests/fuzz/use.o $(BUILD)/tests/fuzz/hold.o
$(BUILD)/threads: $(THREAD_PARTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS) -pthread
sanitize-threads:
	@$(MAKE) CC=clang BUILD=$(BUILD)/$@ CFLAGS="-O1 -g -fsanitize=thread" $(BUILD)/$@/threads
	@TSAN_OPTIONS=halt_on_error=1 $(BUILD)/$@/threads tests/data/full

# One build serves the tests and the fuzzers. Traced comparisons would take three quarters of a fit.
CLANG_SANITIZE = $(MAKE) CC=clang BUILD=$(BUILD)/sanitize-clang \
                 CFLAGS="$(SANITIZE) -fsanitize=float-cast-overflow,fuzzer-no-link \
                         -fno-sanitize-coverage=trace-cmp"
MINUTES ?= 1
fuzz:
	$(PACKAGES) build tests sanitizers
	$(AGAIN) fuzz-minutes
fuzz-minutes:
	@$(CLANG_SANITIZE) all fuzzers
	@sh tests/fuzz/run.sh $(BUILD)/sanitize-clang $(MINUTES)
fuzzers: $(FUZZERS)

# Every distinct allocation and call of the system fails in turn; ALLOCATIONS=all takes hours.
ALLOCATIONS ?= distinct
failure:
	$(PACKAGES) build tests
	$(AGAIN) all
	@bash tests/failure/run.sh $(BUILD) $(ALLOCATIONS)

# Four builds: gcc and clang, without optimisation and with.
same:
	$(PACKAGES) build tests sanitizers
	@bash tests/same.sh $(BUILD)

# Three readers of the code that do not compile it; some minutes.
LINTED = $(filter-out lib/body_table_data.c,$(wildcard lib/*.c cli/*.c))
LINT_FLAGS = -std=c11 -D_XOPEN_SOURCE=700 -Iinclude -Ilib -Itests -I$(BUILD)/generated $(FOUND_CFLAGS)
lint:
	$(PACKAGES) build tests lint
	$(AGAIN) all
	@sh tests/lint.sh $(BUILD) "$(LINT_FLAGS)" $(LINTED)

# Which lines and branches the unit and command tests take; what they do not is listed.
COVERED = BUILD=$(BUILD)/coverage CFLAGS="-O0 -g --coverage"
coverage:
	$(PACKAGES) build tests coverage
	$(AGAIN) all $(BUILD)/coverage/unit $(COVERED)
	@sh tests/coverage.sh $(BUILD)/coverage

# Command tests, each command of theirs under valgrind: those of reading, fit, prediction, bodies,
# sand and sheets, some minutes. TESTS=tests/cli is all of them, an hour.
TESTS ?= $(patsubst %,tests/cli/%.bats,body fit predict sand sheet)
valgrind:
	$(PACKAGES) build tests lint
	$(AGAIN) all
	@sh tests/valgrind.sh $(BUILD) $(TESTS)

bench:
	$(PACKAGES) build bench
	$(AGAIN) all
	@sh tests/bench/run.sh $(BUILD)

# Long. Its figures stand in reference/accuracy.md.
VISITS ?= 1000
MISLEADING ?= 10000
calibration:
	$(PACKAGES) build
	$(AGAIN) $(BUILD)/calibration $(BUILD)/adversarial
	$(BUILD)/calibration --visits $(VISITS) --recovery
	$(BUILD)/calibration --visits $(VISITS) --reject
	$(BUILD)/adversarial $(MISLEADING)

# The reference of include/brineband.h. A field whose name says all needs no words; all else does.
reference:
	$(PACKAGES) reference
	rm -rf $(BUILD)/reference
	mkdir -p $(BUILD)/reference
	{ cat lib/generate/Doxyfile; echo OUTPUT_DIRECTORY = $(BUILD)/reference; \
	    echo PROJECT_NUMBER = $(VERSION); } | doxygen - > $(BUILD)/reference/log 2>&1
	! grep . $(BUILD)/reference/log | grep -v '(variable) of struct .* is not documented'
	@echo "$(BUILD)/reference/html/index.html"

BIN = $(DESTDIR)$(PREFIX)/bin
INCLUDE = $(DESTDIR)$(PREFIX)/include
LIBRARIES = $(DESTDIR)$(LIBDIR)
MAN = $(DESTDIR)$(PREFIX)/share/man
BASH_COMPLETION = $(DESTDIR)$(PREFIX)/share/bash-completion/completions
ZSH_COMPLETION = $(DESTDIR)$(PREFIX)/share/zsh/$(ZSH_FOLDER)
INSTALLED = $(BIN)/brineband $(INCLUDE)/brineband.h $(LIBRARIES)/libbrineband.a \
            $(LIBRARIES)/$(SONAME) $(LIBRARIES)/libbrineband.so $(LIBRARIES)/pkgconfig/brineband.pc \
            $(BASH_COMPLETION)/brineband $(ZSH_COMPLETION)/_brineband \
            $(MAN)/man1/brineband.1 $(MAN)/man1/brineband-*.1 $(MAN)/man3/libbrineband.3 $(MAN)/man5/brineband-*.5
install: all
	install -d $(BIN) $(INCLUDE) $(LIBRARIES)/pkgconfig
	install -m 755 $(BUILD)/brineband $(BIN)
	install -m 644 include/brineband.h $(INCLUDE)
	install -m 644 $(BUILD)/libbrineband.a $(BUILD)/$(SONAME) $(LIBRARIES)
	ln -sf $(SONAME) $(LIBRARIES)/libbrineband.so
	sed -e 's|@prefix@|$(PREFIX)|; s|@version@|$(VERSION)|' \
	    -e 's|@libdir@|$(patsubst $(PREFIX)/%,$${prefix}/%,$(LIBDIR))|' \
	    lib/brineband.pc.in > $(LIBRARIES)/pkgconfig/brineband.pc
	chmod 644 $(LIBRARIES)/pkgconfig/brineband.pc
	install -d $(MAN)/man1 $(MAN)/man3 $(MAN)/man5 $(BASH_COMPLETION) $(ZSH_COMPLETION)
	install -m 644 $(BUILD)/man/*.1 $(MAN)/man1
	install -m 644 $(BUILD)/man/*.3 $(MAN)/man3
	install -m 644 $(BUILD)/man/*.5 $(MAN)/man5
	install -m 644 $(BUILD)/completion/brineband.bash $(BASH_COMPLETION)/brineband
	install -m 644 $(BUILD)/completion/_brineband $(ZSH_COMPLETION)
uninstall:
	rm -f $(INSTALLED)

# The release: the same bytes from the same files, dated like the newest entry of the changelog.
RELEASE = brineband-$(VERSION)
dist:
	@mkdir -p $(BUILD)
	{ if [ -e .git ] && command -v git >/dev/null; then git ls-files; \
	  else find * .[!.]* \( -path build -o -path .git \) -prune -o -type f -print; fi; } \
	    | LC_ALL=C sort | tar --create --no-recursion --files-from=- --transform='s|^|$(RELEASE)/|' \
	    --format=ustar --owner=0 --group=0 --numeric-owner --mode=u=rwX,go=rX \
	    --mtime="$$(sed -n 's/^ -- .*>  //p' lib/debian/changelog | head -n 1)" \
	    | gzip -9n > $(BUILD)/$(RELEASE).tar.gz
# It must build and pass by itself, far from this checkout.
distcheck: dist
	rm -rf $(BUILD)/distcheck
	mkdir -p $(BUILD)/distcheck
	tar -C $(BUILD)/distcheck -xzf $(BUILD)/$(RELEASE).tar.gz
	$(MAKE) -C $(BUILD)/distcheck/$(RELEASE) check BUILD=build

# Debian packages of tool, library and development files, made from the release in build/deb.
deb: dist
	$(PACKAGES) build package
	rm -rf $(BUILD)/deb
	mkdir -p $(BUILD)/deb
	cp $(BUILD)/$(RELEASE).tar.gz $(BUILD)/deb/brineband_$(VERSION).orig.tar.gz
	tar -C $(BUILD)/deb -xzf $(BUILD)/$(RELEASE).tar.gz
	cp -r $(BUILD)/deb/$(RELEASE)/lib/debian $(BUILD)/deb/$(RELEASE)
	cd $(BUILD)/deb/$(RELEASE) && env -u MAKEFLAGS -u MAKELEVEL DEB_BUILD_OPTIONS=nocheck \
	    DEB_BUILD_PROFILES=nocheck dpkg-buildpackage -us -uc --jobs=auto > ../build.log 2>&1 \
	    || { cat ../build.log; exit 1; }
	# These are not made for the archive of Debian, so they close no bug there.
	lintian --fail-on error,warning --suppress-tags initial-upload-closes-no-bugs $(BUILD)/deb/*.changes
	@ls $(BUILD)/deb/*.deb

clean:
	rm -rf $(BUILD)

.PHONY: all picture tables demo check tested sanitize sanitize-gcc sanitize-clang sanitize-threads same fuzz fuzz-minutes fuzzers failure lint coverage valgrind bench \
        calibration reference install uninstall dist distcheck deb clean FORCE
.DELETE_ON_ERROR:
.SECONDARY:
-include $(shell find $(BUILD) -name "*.d" 2>/dev/null)
