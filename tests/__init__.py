"""Tests of the tool; a package, so that tests and benchmarks can share what is written once."""
