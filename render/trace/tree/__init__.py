"""What rays walk through: shapes, trees over their triangles, and where each shape is placed."""
