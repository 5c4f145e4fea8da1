# brineband. `make` builds the tool and the library; see DEVELOPERS.md for the other goals.
BUILD ?= build
CFLAGS ?= -O2 -g
LIBRARIES = gsl jansson inih cairo pangocairo
WARNINGS = -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror
COMPILE = $(CC) -std=c11 $(WARNINGS) $(CFLAGS) $(CPPFLAGS) -fPIC -fvisibility=hidden -MMD -MP \
          -Iinclude -Ilib -I$(BUILD)/generated $(shell pkg-config --cflags $(LIBRARIES))
LIBS = $(shell pkg-config --libs $(LIBRARIES)) -lcsv -lm

LIB_OBJECTS = $(patsubst %.c,$(BUILD)/%.o,$(wildcard lib/*.c))
CLI_OBJECTS = $(patsubst %.c,$(BUILD)/%.o,$(wildcard cli/*.c))
TEST_OBJECTS = $(patsubst %.c,$(BUILD)/%.o,$(wildcard tests/unit/*.c))
GENERATED = $(patsubst reference/%.csv,$(BUILD)/generated/%.inc,$(wildcard reference/materials.csv reference/catalogue.csv))

all: $(BUILD)/brineband $(BUILD)/libbrineband.a $(BUILD)/libbrineband.so

$(BUILD)/libbrineband.a: $(LIB_OBJECTS)
	$(AR) rcs $@ $^
$(BUILD)/libbrineband.so: $(LIB_OBJECTS)
	$(CC) -shared $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIBS)
$(BUILD)/brineband: $(CLI_OBJECTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIBS)
$(BUILD)/unit: $(TEST_OBJECTS) $(BUILD)/libbrineband.a
	$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIBS) $(shell pkg-config --libs check)

$(BUILD)/%.o: %.c | $(GENERATED)
	@mkdir -p $(@D)
	$(COMPILE) -c -o $@ $<

# One C initialiser a row: every field a string, read once by lib/.
$(BUILD)/generated/%.inc: reference/%.csv lib/embed.awk
	@mkdir -p $(@D)
	awk -f lib/embed.awk $< > $@

clean:
	rm -rf $(BUILD)
.PHONY: all clean
-include $(LIB_OBJECTS:.o=.d) $(CLI_OBJECTS:.o=.d) $(TEST_OBJECTS:.o=.d)
