"""The conversation: a table of states and what may be said in each."""
