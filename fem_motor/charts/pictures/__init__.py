"""The pictures of each kind of result, with title, caption and words."""
