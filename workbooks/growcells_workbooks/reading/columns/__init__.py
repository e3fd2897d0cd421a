"""What is a column? What its headings may mean, held against what stands in it, and which kind of table they make."""
