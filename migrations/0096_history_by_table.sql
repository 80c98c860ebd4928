-- When a table was last changed, and when an event was last changed otherwise than by being added: asked by what is
-- remembered while nothing it was made of has changed.
CREATE INDEX act_change_table ON act_change (table_name, act_id);
CREATE INDEX act_change_event ON act_change (act_id) WHERE table_name = 'event' AND before IS NOT NULL;
