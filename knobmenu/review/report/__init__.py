"""The report of a study: problems, measures, comparisons, plots, and the page that shows them."""
