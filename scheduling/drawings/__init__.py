"""Drawings as SVG text: pure functions of plain data. Colours come from the page's style sheet by class; every meaning is also
said by text, shape or hatching, so that a drawing reads in print and without colour."""
