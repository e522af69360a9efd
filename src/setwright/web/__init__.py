"""The record and the stations over HTTP: parse, call, serialise; nothing is computed here."""
