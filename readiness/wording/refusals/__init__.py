"""Why something can't be done: what is wrong in the reader's words, then what to do next."""
