-- What every set grew, as bits (1 commensal, 2 other, 4 unread).
create or replace temp table growth as
select set_id, bit_or(grows) as grew
from grown_isolates
group by set_id
