"""Large linear systems made small: factors of a fixed pattern, and half cells condensed."""
