"""What programs are told: every record declared once, and the JSON Schema made of that."""
