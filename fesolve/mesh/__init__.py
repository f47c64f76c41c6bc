"""From outline to elements: exact geometry, sizes, gmsh, and conversion to other libraries."""
