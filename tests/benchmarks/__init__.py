"""Benchmarks: each is a ratio between growcells and something else, measured in one run on one machine."""
