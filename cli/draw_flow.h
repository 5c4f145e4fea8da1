/* Sections that follow each other down a page. */
#ifndef DRAW_FLOW_H
#define DRAW_FLOW_H

#include "draw_page.h"

/* Where the next section goes. */
struct flow {
    struct page *page;
    const void *of; /* what the page is about */
    double x, y, width;
    double size; /* of the body's type */
};

/* Paragraphs across the width; each frees its text. A lead (may be NULL) stands before it in bold.
 */
void flow_text(struct flow *flow, text_style style, const char *lead, char *text);
void flow_body(struct flow *flow, const char *lead, char *text);
void flow_small(struct flow *flow, const char *lead, char *text);
void flow_strong(struct flow *flow, char *text);

void flow_gap(struct flow *flow, double lines);
void flow_rule(struct flow *flow);

/* Texts along one line in bold, the first at its left, the last at its right end; frees them. */
void flow_spread(struct flow *flow, char **texts, size_t count);

/* Two sections side by side where there is room, else one below the other. */
void flow_beside(struct flow *flow, void (*left)(struct flow *), void (*right)(struct flow *));

/* The cautions, small. */
void flow_cautions(struct flow *flow);

/* "Low water 14:10", or with room to write the time. */
char *time_words(const char *label, int minutes);

#endif
