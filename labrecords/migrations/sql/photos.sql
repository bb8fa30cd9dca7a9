-- A photograph is attached, or set aside, while its study is tested or in review; after that what was reviewed stays.

create function labrecords_check_photo_state(of_result uuid) returns void
  language plpgsql stable set search_path = pg_catalog, public, pg_temp as $$
begin
  if not exists (select 1 from public.labrecords_result r
                   join public.labrecords_specimen p on p.id = r.specimen_id
                   join public.labrecords_study s on s.id = p.study_id
                  where r.id = of_result and s.state in ('testing', 'in review')) then
    perform public.labrecords_no('state-refused', 'the study is neither tested nor in review');
  end if;
end $$;

create function labrecords_check_photo() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  perform public.labrecords_check_photo_state(new.result_id);
  return new;
end $$;
create trigger check_photo before insert on labrecords_photo for each row execute function labrecords_check_photo();
alter table labrecords_photo enable always trigger check_photo;

create function labrecords_check_photo_aside() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  perform public.labrecords_check_photo_state((select p.result_id from public.labrecords_photo p where p.id = new.photo_id));
  return new;
end $$;
create trigger check_photo_aside before insert on labrecords_photoaside for each row execute function labrecords_check_photo_aside();
alter table labrecords_photoaside enable always trigger check_photo_aside;
