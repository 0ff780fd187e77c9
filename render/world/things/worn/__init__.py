"""What is worn: cloth, collars, beards, glasses, and heads with all that grows on them."""
