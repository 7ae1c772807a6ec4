"""Pure electrics: numbers in, numbers out. No files, no web, no database."""
