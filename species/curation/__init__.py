"""How species knowledge enters the database: a pack is applied, a revision is published."""
