"""Single quantities read off the fields: constants, core flux, inductance, element waves."""
