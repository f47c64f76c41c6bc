"""Someone else's grid, solved on as it is: from its arrays and a few words to a grid with the answer."""
