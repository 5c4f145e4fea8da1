/* Mutating JSON so that it mostly stays JSON. */
#ifndef NUMBERS_H
#define NUMBERS_H

#include <stddef.h>

/* The entry that libFuzzer calls in place of its own mutations. */
size_t LLVMFuzzerCustomMutator(unsigned char *bytes, size_t length, size_t room, unsigned seed);

/* A few numbers replaced by telling ones; now and then anything else. Returns the new length. */
size_t mutate_numbers(unsigned char *bytes, size_t length, size_t room, unsigned seed);

#endif
