"""What a panel shows, as plain tables and sentences: no widgets, no pictures, only pandas and words."""
