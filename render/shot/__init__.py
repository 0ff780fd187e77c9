"""What a person says of one planned photograph: every option, declared once."""
