export {
  AmbientLight, BoxGeometry, BufferAttribute, BufferGeometry, DirectionalLight, DoubleSide, EdgesGeometry, Group, Line,
  LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial, OrthographicCamera, PerspectiveCamera,
  Scene, Vector3, WebGLRenderer,
} from "three";
