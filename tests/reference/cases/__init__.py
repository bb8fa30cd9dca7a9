"""What outside sources say each number should be: one module for each module of labrecords.stats."""
