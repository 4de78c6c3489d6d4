-- The bottles of which the file says anything, be it that a result was withdrawn; 0 where it speaks of the whole set.
select distinct row_set, bottle::integer as bottle from lines where row_set is not null
