"""What the sittings of a study say: problems, measures, comparisons, pictures, and the page that holds them."""
