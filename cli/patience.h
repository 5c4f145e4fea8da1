/* A line on standard error while work takes longer than a second, on a terminal alone. */
#ifndef PATIENCE_H
#define PATIENCE_H

/* What is being done, as in "fitting": a string that lives until patience_end. In between nothing
 * may be printed. */
void patience_begin(const char *doing);
void patience_end(void);

#endif
