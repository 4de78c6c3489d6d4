"""One chart, one reading, one answer: charts over months of counts and over the gaps between contaminations."""
