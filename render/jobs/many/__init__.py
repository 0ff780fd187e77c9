"""Many pictures under one command: gathered, named, each done as alone, and told together."""
