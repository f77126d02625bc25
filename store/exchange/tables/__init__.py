"""Rows and columns: CSV and XLSX."""
