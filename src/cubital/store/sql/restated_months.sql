-- Months of the file's facilities that already had sets and now have others: their figures are restated.
-- Asked of the stored sets, so that only files of the touched months are read.
select distinct month
from stored_sets
semi join merge_touched using (facility, month)
order by month
