-- A client page reads in the role labrecords_portal, which sees one client's rows and nobody else's, whatever a query
-- forgot to ask. Which client is said for one transaction; nothing said, nothing is seen. The runtime role sees all, as
-- before, and so does the owner, who makes backups.

create function labrecords_client() returns uuid
  language sql stable set search_path = pg_catalog, public, pg_temp as $$
  -- after its transaction the setting is an empty text, not null
  select nullif(current_setting('labrecords.client', true), '')::uuid
$$;

-- Somebody who reads by a link is shown one issue of one report: the transaction says which, and by which link.
create function labrecords_said(name text) returns uuid
  language sql stable set search_path = pg_catalog, public, pg_temp as $$
  select nullif(current_setting('labrecords.' || name, true), '')::uuid
$$;

create function labrecords_within(name text, id uuid) returns boolean
  language sql stable set search_path = pg_catalog, public, pg_temp as $$
  select coalesce(public.labrecords_said(name) = id, true)
$$;

create function labrecords_wall_off(name text, seen text) returns void language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  execute format('alter table public.%I enable row level security', name);
  execute format('create policy the_laboratory on public.%I to labrecords_app using (true) with check (true)', name);
  execute format('create policy own_rows on public.%I for select to labrecords_portal using (%s)', name, seen);
end $$;

-- Each table is asked through the one before it, which is walled off itself.
select labrecords_wall_off('labrecords_client', 'id = public.labrecords_client()');
select labrecords_wall_off('labrecords_project', 'client_id = public.labrecords_client() and public.labrecords_within(''project'', id)');
select labrecords_wall_off('labrecords_study', 'public.labrecords_within(''study'', id) and exists (select 1 from public.labrecords_project p where p.id = project_id)');
select labrecords_wall_off('labrecords_report', 'public.labrecords_within(''report'', id) and exists (select 1 from public.labrecords_study s where s.id = study_id)');
select labrecords_wall_off('labrecords_reportfile', 'exists (select 1 from public.labrecords_report r where r.id = report_id)');
select labrecords_wall_off('labrecords_reportwithdrawal', 'exists (select 1 from public.labrecords_report r where r.id = report_id)');
-- of protocols, the versions that were put to the client; behind a link, none
select labrecords_wall_off('labrecords_protocol', 'signature_id is not null and public.labrecords_said(''link'') is null and exists (select 1 from public.labrecords_study s where s.id = study_id)');
select labrecords_wall_off('labrecords_protocolanswer', 'exists (select 1 from public.labrecords_protocol p where p.id = protocol_id)');
select labrecords_wall_off('labrecords_signature', 'exists (select 1 from public.labrecords_report r where r.signature_id = labrecords_signature.id)
  or exists (select 1 from public.labrecords_protocol p where p.signature_id = labrecords_signature.id)');

-- An opening is added for a report that is seen, and for no other; by the link that is said, and by no other.
alter table public.labrecords_opening enable row level security;
create policy the_laboratory on public.labrecords_opening to labrecords_app using (true) with check (true);
create policy own_rows on public.labrecords_opening for insert to labrecords_portal
  with check (link_id is not distinct from public.labrecords_said('link')
    and exists (select 1 from public.labrecords_report r where r.id = report_id));
