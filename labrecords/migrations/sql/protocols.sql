-- A set-up is locked on what the client agreed to, where the plan says that the client is asked.

create function labrecords_check_protocol_answer() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if not exists (
    select 1 from public.labrecords_protocol p join public.labrecords_study s on s.id = p.study_id
     where p.id = new.protocol_id and s.state = 'draft'
       and p.version = (select max(version) from public.labrecords_protocol where study_id = s.id)
  ) then
    perform public.labrecords_no('protocol-replaced', 'only the newest version of a draft is answered');
  end if;
  return new;
end $$;
create trigger check_answer before insert on labrecords_protocolanswer for each row execute function labrecords_check_protocol_answer();
alter table labrecords_protocolanswer enable always trigger check_answer;

create function labrecords_check_protocol_agreed() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if new.agreement = 'client' and old.locked_at is null and new.locked_at is not null and not exists (
    select 1 from public.labrecords_protocol p join public.labrecords_protocolanswer a on a.protocol_id = p.id and a.agreed
     where p.study_id = new.id
       and p.version = (select max(version) from public.labrecords_protocol where study_id = new.id)
  ) then
    perform public.labrecords_no('protocol-not-agreed', 'the client has not agreed to the newest version of the protocol');
  end if;
  return new;
end $$;
create trigger check_protocol before update on labrecords_study for each row execute function labrecords_check_protocol_agreed();
alter table labrecords_study enable always trigger check_protocol;
