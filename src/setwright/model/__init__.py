"""The job document: one schema for the files a setter writes, for HTTP and for the record. Immutable values, no I/O."""
