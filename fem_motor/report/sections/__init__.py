"""What stands in the document of each kind of result, section by section."""
