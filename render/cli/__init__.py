"""The command line: words in, words out, no mathematics."""
