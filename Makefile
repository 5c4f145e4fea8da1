# brineband: how to build, try, test and install it. DEVELOPERS.md explains each goal.
BUILD ?= build
CFLAGS ?= -O2 -g
PREFIX ?= /usr/local
LIBDIR ?= $(PREFIX)/lib
VERSION = $(shell sed -n 's/.*BB_VERSION "\(.*\)"/\1/p' include/brineband.h)
SONAME = libbrineband.so.0

# Asked when first needed, then remembered: the packages may not be there yet when make starts.
once = $(eval $(1) := $(shell $(2)) $(3))$($(1))
FOUND_CFLAGS = $(call once,FOUND_CFLAGS,pkg-config --cflags gsl jansson inih cairo pangocairo)
LIB_LIBS = $(call once,LIB_LIBS,pkg-config --libs gsl jansson inih,-lcsv -lm)
CLI_LIBS = $(call once,CLI_LIBS,pkg-config --libs cairo pangocairo,$(LIB_LIBS))
UNIT_LIBS = $(call once,UNIT_LIBS,pkg-config --libs check,$(CLI_LIBS))

WARNINGS = -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror
COMPILE = $(CC) -std=c11 $(WARNINGS) $(CFLAGS) $(CPPFLAGS) -D_XOPEN_SOURCE=700 -fPIC -fvisibility=hidden \
          -MMD -MP -Iinclude -Ilib -Itests -I$(BUILD)/generated $(FOUND_CFLAGS)

objects = $(patsubst %.c,$(BUILD)/%.o,$(wildcard $(1)/*.c))
LIB_OBJECTS = $(call objects,lib)
CLI_OBJECTS = $(call objects,cli)
UNIT_OBJECTS = $(call objects,tests/unit)
SIMULATE_OBJECTS = $(filter-out %/main.o,$(call objects,tests/simulate))
CALIBRATION_OBJECTS = $(call objects,tests/calibration)
SUITES = $(patsubst tests/unit/test_%.c,'SUITE(suite_%)',$(sort $(wildcard tests/unit/test_*.c)))
TABLES = $(patsubst reference/%.csv,$(BUILD)/generated/%.inc,$(wildcard reference/materials.csv reference/catalogue.csv reference/corrosion_rates.csv)) \
         $(BUILD)/generated/ground_nodes.inc

all: $(BUILD)/brineband $(BUILD)/libbrineband.a $(BUILD)/libbrineband.so

$(BUILD)/libbrineband.a: $(LIB_OBJECTS)
	rm -f $@
	$(AR) rcs $@ $^
$(BUILD)/libbrineband.so: $(LIB_OBJECTS)
	$(CC) -shared -Wl,-soname,$(SONAME) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS)
$(BUILD)/brineband: $(CLI_OBJECTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(CLI_LIBS)
# The commands' parts, for the tests of what they draw.
$(BUILD)/cli.a: $(filter-out $(BUILD)/cli/main.o,$(CLI_OBJECTS))
	rm -f $@
	$(AR) rcs $@ $^
$(BUILD)/unit: $(UNIT_OBJECTS) $(filter-out %/main.o,$(CALIBRATION_OBJECTS)) $(SIMULATE_OBJECTS) $(BUILD)/cli.a $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(UNIT_LIBS)
# Invented visits, and how well the fit's doubt holds on many of them.
$(BUILD)/simulate: $(BUILD)/tests/simulate/main.o $(SIMULATE_OBJECTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIB_LIBS)
$(BUILD)/calibration: $(CALIBRATION_OBJECTS) $(SIMULATE_OBJECTS) $(BUILD)/libbrineband.a
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
$(BUILD)/body_table: lib/generate/body_table.c lib/spectral.c
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

check:
	$(PACKAGES) build tests
	$(AGAIN) tested
tested: all $(BUILD)/unit $(BUILD)/calibration
	@sh tests/run.sh $(BUILD)

# gcc's guesses about cut text go wrong among the sanitizers' checks.
SANITIZE = -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
sanitize:
	$(PACKAGES) build tests sanitizers
	$(AGAIN) --output-sync=recurse sanitize-gcc sanitize-clang
sanitize-gcc sanitize-clang: sanitize-%:
	@$(MAKE) tested CC=$* BUILD=$(BUILD)/$@ \
	    CFLAGS="$(SANITIZE) $(if $(filter gcc,$*),-Wno-format-truncation)"

bench:
	$(PACKAGES) build bench
	$(AGAIN) all
	@sh tests/bench/run.sh $(BUILD)

# Long. Its figures stand in reference/accuracy.md.
VISITS ?= 1000
calibration:
	$(PACKAGES) build
	$(AGAIN) $(BUILD)/calibration
	$(BUILD)/calibration --visits $(VISITS) --recovery
	$(BUILD)/calibration --visits $(VISITS) --reject

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/include $(DESTDIR)$(LIBDIR)/pkgconfig
	install -m 755 $(BUILD)/brineband $(DESTDIR)$(PREFIX)/bin
	install -m 644 include/brineband.h $(DESTDIR)$(PREFIX)/include
	install -m 644 $(BUILD)/libbrineband.a $(DESTDIR)$(LIBDIR)
	install -m 644 $(BUILD)/libbrineband.so $(DESTDIR)$(LIBDIR)/$(SONAME)
	ln -sf $(SONAME) $(DESTDIR)$(LIBDIR)/libbrineband.so
	sed -e 's|@prefix@|$(PREFIX)|; s|@libdir@|$(LIBDIR)|; s|@version@|$(VERSION)|' \
	    lib/brineband.pc.in > $(DESTDIR)$(LIBDIR)/pkgconfig/brineband.pc
uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/brineband $(DESTDIR)$(PREFIX)/include/brineband.h \
	      $(DESTDIR)$(LIBDIR)/libbrineband.a $(DESTDIR)$(LIBDIR)/libbrineband.so \
	      $(DESTDIR)$(LIBDIR)/$(SONAME) $(DESTDIR)$(LIBDIR)/pkgconfig/brineband.pc

clean:
	rm -rf $(BUILD)

.PHONY: all tables demo check tested sanitize sanitize-gcc sanitize-clang bench calibration install uninstall clean FORCE
.DELETE_ON_ERROR:
.SECONDARY:
-include $(shell find $(BUILD) -name "*.d" 2>/dev/null)
