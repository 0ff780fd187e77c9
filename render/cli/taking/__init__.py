"""What commands take besides their options: files that come and go by the standard streams."""
