"""The solver core: arrays in, displacement and stress out. It knows no part files."""
