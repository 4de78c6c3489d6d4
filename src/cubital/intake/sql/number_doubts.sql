create or replace table row_doubts as
select distinct line - $shift as row, $sheet as sheet, reason, detail from doubts
