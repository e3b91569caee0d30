"""What stands in the database, whatever the models say."""

from django.db import connection


def every_value() -> str:
    """Each value of each row of each table, one a line."""
    with connection.cursor() as cursor:
        values = []
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            values += [str(value) for row in cursor.fetchall() for value in row]
    return "\n".join(values)
