/* How many cases a test takes: all, or under a sanitizer a few, for it asks about memory, is several
 * times slower, and every number has been compared without it. */
#ifndef CASES_H
#define CASES_H

#if defined(__SANITIZE_ADDRESS__)
#define SANITIZED 1
#elif defined(__has_feature)
#define SANITIZED __has_feature(address_sanitizer)
#else
#define SANITIZED 0
#endif

#define CASES(all, few) (SANITIZED ? (few) : (all))

#endif
