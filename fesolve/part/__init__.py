"""What the user says: the part file, read into frozen descriptions."""
