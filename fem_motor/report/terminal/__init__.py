"""Pages for the terminal: the summary of each kind of result, in lines of text."""
