-- Every way in which a column's dates are written, and what proves that day or month stands first.
-- In: distinct_times(text, line, many).
with parts as (
  select
    line,
    many,
    date_shape(text) as shape,
    text as example,
    try_cast(regexp_extract(text, '^\s*(\d{1,2})[-/. ](\d{1,2})[-/. ]', 1) as integer) as first_number,
    try_cast(regexp_extract(text, '^\s*(\d{1,2})[-/. ](\d{1,2})[-/. ]', 2) as integer) as second_number
  from distinct_times
)
select
  shape,
  sum(many)::bigint as many,
  min(line) as line,
  min(line) filter (where first_number > 12 and second_number <= 12) as only_day_first,
  min(line) filter (where second_number > 12 and first_number <= 12) as only_month_first,
  count(*) filter (where first_number <= 12 and second_number <= 12 and first_number <> second_number) as undecided,
  max(try_cast(regexp_extract(example, '^\d{4}-\d\d-(\d\d)', 1) as integer)) as last_day
from parts
group by shape
order by many desc
