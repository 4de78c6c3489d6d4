-- One current key and name for every unit label; a label given twice keeps its first current key in the alphabet.
create or replace temp table unit_now as
select facility, unit_key, min(current_key) as current_key, arg_min(unit_name, current_key) as unit_name
from unit_names
group by facility, unit_key
