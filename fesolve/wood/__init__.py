"""What wood is: its plane stiffness, and the tables of its strengths with source and status."""
