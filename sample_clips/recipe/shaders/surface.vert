in vec3 position, normal, rest_position;
in vec4 paint_amounts;
in float occlusion;

uniform mat4 camera_view;
uniform mat4 light_view;

out vec3 place, direction, rest;
out vec4 paint, in_light;
out float open_sky;

void main() {
    place = position;
    direction = normal;
    rest = rest_position;
    paint = paint_amounts;
    open_sky = occlusion;
    in_light = light_view * vec4(position + normal * 0.0015, 1.0);
    gl_Position = camera_view * vec4(position, 1.0);
}
