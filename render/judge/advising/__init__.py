"""What would help: proposals, the best setting, and each judged anew."""
