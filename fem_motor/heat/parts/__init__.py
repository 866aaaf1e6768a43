"""The network of parts: copper, films, sizes, and how a motor becomes a network."""
