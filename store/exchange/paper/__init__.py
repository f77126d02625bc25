"""What is printed: one page in blocks, as HTML that fetches nothing and as PDF. By code alone, no names."""
