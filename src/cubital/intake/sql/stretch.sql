-- The lines of the sets that open within one stretch of the file. All lines of a set are in the same stretch.
create or replace temp table lines as
select *, case when outside is null then home end as row_set
from coded
where home >= {start} and home < {until}
