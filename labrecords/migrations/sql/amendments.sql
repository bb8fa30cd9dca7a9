-- A released report is opened again only with a reason on record, and never where authorisations rest on the study.

create function labrecords_check_amended() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if old.state = 'released' and new.state = 'in review' and not exists (
    select 1 from public.labrecords_report r
      join public.labrecords_reportamendment a on a.report_id = r.id
     where r.study_id = new.id
       and not exists (select 1 from public.labrecords_report n where n.study_id = new.id and n.issue > r.issue)
  ) then
    perform public.labrecords_no('state-refused', 'no amendment of the newest issue of ' || old.code || ' is on record');
  end if;
  return new;
end $$;
create trigger match_amended before update on labrecords_study for each row execute function labrecords_check_amended();
alter table labrecords_study enable always trigger match_amended;
