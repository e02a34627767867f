"""The only place that holds words and speaks to people."""
