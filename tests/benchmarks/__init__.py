"""Measurements with one command and a table: `python -m tests.benchmarks`. Nothing here is collected as a test."""
