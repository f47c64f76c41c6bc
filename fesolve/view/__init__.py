"""What people see of a verdict: sentences, tables, pictures, files."""
