"""The local web page: the same jobs as the commands, turned by hand."""
