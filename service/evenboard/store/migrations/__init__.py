"""The steps from one set of tables to the next; run by ``Store.migrate``."""
