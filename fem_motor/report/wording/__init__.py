"""What a result says in words: answers, heat, currents, verdict, cautions; shared by all pages."""
