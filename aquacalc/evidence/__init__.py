"""What every number rests on: outside values of equations, tables and engine, and their page."""
