"""Reference solutions that share nothing with the package: closed forms, exact integrals, data."""
