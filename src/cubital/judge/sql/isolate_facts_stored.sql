-- Every isolate with the facts of its set, as they are stored.
create or replace temp view isolate_facts as select * from set_isolates
