"""Pages of a list: a cursor, so that a page costs the same wherever it lies."""

from typing import Any

from rest_framework.pagination import CursorPagination
from rest_framework.response import Response


class Pages(CursorPagination):
    """Cursor pages in order of recording; spatial lists are GeoJSON feature collections."""

    page_size = 100
    page_size_query_param = "page_size"
    max_page_size = 1000
    ordering = ("pk",)

    def get_paginated_response(self, data: Any) -> Response:
        links = {"next": self.get_next_link(), "previous": self.get_previous_link()}
        if isinstance(data, dict) and data.get("type") == "FeatureCollection":
            return Response({"type": "FeatureCollection", **links, "features": data["features"]})
        return Response({**links, "results": data})

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        link = {"type": "string", "format": "uri", "nullable": True}
        if "features" in schema.get("properties", {}):
            properties = {**schema["properties"], "next": link, "previous": link}
            return {**schema, "properties": properties}
        return {
            "type": "object",
            "required": ["results"],
            "properties": {"next": link, "previous": link, "results": schema},
        }
