-- The same for a file in which every specimen type and test is a routine blood culture, or neither is named.
create or replace temp view scoped as
select p.*, coalesce(p.unkept, case when p.accession is null then outside_code('no_accession') end) as outside
from parsed p
