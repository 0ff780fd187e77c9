"""What drives: cars, vans, buses, lorries, bicycles; front towards -y before turning."""
