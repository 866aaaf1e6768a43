"""The verbs of one module each: options, and what is called and printed."""
