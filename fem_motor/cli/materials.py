"""List the materials of the library: kind, main values, and where the values come from."""



HELP = "what is in the library, with sources"
