"""Outlines that others drew, DXF and SVG, as closed loops of lines and arcs with the names of their layers."""
